//! Back and forth through the versions of a job.

use job::{Document, steps_between};
use store::{Sort, Store, There};

use super::{Desk, Inner, locked};
use crate::problem::Problem;

impl Desk {
    /// Takes the newest change back.
    pub fn undo(&self, tab: &str) -> Result<i64, Problem> {
        let inner = &mut *locked(&self.inner);
        self.notice(inner)?;
        let Some((of, label)) = inner.undo.last().cloned() else {
            return Err(Problem::refused("There is nothing to undo", ""));
        };
        let mut back = Vec::new();
        for version in inner.store.joined(of)?.into_iter().rev() {
            back.extend(inner.steps_of(version)?.1);
        }
        self.make(inner, (Sort::Undo, Some(of)), &label, tab, back)
    }

    /// Makes the change again that was taken back last.
    pub fn redo(&self, tab: &str) -> Result<i64, Problem> {
        let inner = &mut *locked(&self.inner);
        self.notice(inner)?;
        let Some((of, label)) = inner.redo.last().cloned() else {
            return Err(Problem::refused("There is nothing to make again", ""));
        };
        let mut steps = Vec::new();
        for version in inner.store.joined(of)? {
            steps.extend(inner.steps_of(version)?.0);
        }
        self.make(inner, (Sort::Redo, Some(of)), &label, tab, steps)
    }

    /// Brings the job back to what it was at a version, as a change of its own.
    pub fn return_to(&self, version: i64, tab: &str) -> Result<i64, Problem> {
        let inner = &mut *locked(&self.inner);
        self.notice(inner)?;
        let then = inner.at(version)?;
        let steps = steps_between(&inner.document, &then);
        let label = format!("Back to version {version}");
        self.make(inner, (Sort::Return, Some(version)), &label, tab, steps)
    }

    /// Lines of the history, newest first.
    /// Of changes that were made by one gesture the newest stands for all.
    pub fn history(&self, before: i64, most: usize) -> Result<Vec<store::Line>, Problem> {
        let mut lines = locked(&self.inner).store.history(before, most)?;
        let gesture = |line: &store::Line| match line.sort {
            Sort::Edit => line.of.unwrap_or(line.version),
            _ => line.version,
        };
        lines.dedup_by_key(|line| gesture(line));
        Ok(lines)
    }
}

impl Inner {
    fn steps_of(&self, version: i64) -> Result<There, Problem> {
        let steps = self.store.steps(version)?;
        steps.ok_or_else(|| {
            Problem::not_there(
                format!("There is no version {version}"),
                "look at the history as it is now",
            )
        })
    }

    /// The job as it was at a version.
    pub(super) fn at(&self, version: i64) -> Result<Document, Problem> {
        if version < 0 || version > self.version {
            self.steps_of(version)?;
        }
        let mut document = self.document.clone();
        let mut newest = self.version;
        while newest > version {
            let lines = self.store.history(newest + 1, 100)?;
            for line in lines.iter().take_while(|line| line.version > version) {
                let (_, back) = self.steps_of(line.version)?;
                document.change(&back)?;
            }
            newest = match lines.last() {
                Some(line) => line.version - 1,
                None => break,
            };
        }
        Ok(document)
    }

    pub(super) fn stack(&mut self, sort: Sort, of: Option<i64>, label: &str) {
        stacked(
            (&mut self.undo, &mut self.redo),
            (self.version, sort, of, label),
        );
    }
}

/// What can be taken back and what can be made again, from the whole history.
pub(super) type Stack = Vec<(i64, String)>;

pub(super) fn stacks(store: &Store) -> Result<(Stack, Stack), Problem> {
    let mut lines = store.history(i64::MAX, usize::MAX >> 1)?;
    lines.reverse();
    let (mut undo, mut redo) = (Stack::new(), Stack::new());
    for line in &lines {
        let of = (line.version, line.sort, line.of, line.label.as_str());
        stacked((&mut undo, &mut redo), of);
    }
    Ok((undo, redo))
}

fn stacked(
    (undo, redo): (&mut Stack, &mut Stack),
    (version, sort, of, label): (i64, Sort, Option<i64>, &str),
) {
    match sort {
        // Of a gesture, the first change stands for all.
        Sort::Edit if of.is_some() && undo.last().map(|(last, _)| *last) == of => redo.clear(),
        Sort::Edit | Sort::Return | Sort::Found => {
            undo.push((version, label.to_owned()));
            redo.clear();
        }
        Sort::Undo => {
            undo.retain(|(other, _)| Some(*other) != of);
            redo.extend(of.map(|of| (of, label.to_owned())));
        }
        Sort::Redo => {
            redo.retain(|(other, _)| Some(*other) != of);
            undo.extend(of.map(|of| (of, label.to_owned())));
        }
    }
}

pub(super) fn words(stack: &Stack) -> Option<String> {
    stack.last().map(|(_, label)| label.clone())
}
