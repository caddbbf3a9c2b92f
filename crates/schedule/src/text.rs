//! Reading problems from text in Patterson's layout: the number of tasks and resources, the
//! capacities, then for each task its duration, its demands, the number of tasks that follow it
//! and their numbers, from 1; all with blanks or line ends between them.
//!
//! The layout of J. H. Patterson's set ("A comparison of exact approaches for solving the multiple
//! constrained resource, project scheduling problem", Management Science 30, 1984); the PSPLIB
//! (R. Kolisch and A. Sprecher, 1996) is often given in it too.

use crate::problem::{Lag, Problem, ProblemError, Resource, Task};
use std::fmt;

/// Why a text was refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TextError {
    /// A word is no whole number, or out of range.
    Number {
        /// The word, counted from 1.
        word: usize,
    },
    /// The text ends too early.
    End,
    /// There is more text than tasks.
    More {
        /// The first word too many, counted from 1.
        word: usize,
    },
    /// Every number is fine, but the whole is no problem.
    Problem(ProblemError),
}

impl fmt::Display for TextError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TextError::Number { word } => write!(f, "word {word}: a whole number belongs there"),
            TextError::End => write!(f, "the text ends before the last task"),
            TextError::More { word } => write!(f, "word {word} stands after the last task"),
            TextError::Problem(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for TextError {}

struct Words<'a> {
    words: std::str::SplitWhitespace<'a>,
    at: usize,
}

impl Words<'_> {
    fn number(&mut self) -> Result<u32, TextError> {
        let word = self.words.next().ok_or(TextError::End)?;
        self.at += 1;
        word.parse()
            .map_err(|_| TextError::Number { word: self.at })
    }
}

/// Reads a problem.
///
/// # Errors
///
/// See [`TextError`].
///
/// ```
/// let problem = schedule::text::read("2 1\n3\n4 2 1 2\n5 2 0\n")?;
/// assert_eq!(problem.tasks()[1].duration, 5);
/// assert_eq!(problem.lags()[0].least, 4);
/// # Ok::<(), schedule::text::TextError>(())
/// ```
pub fn read(text: &str) -> Result<Problem, TextError> {
    let mut words = Words {
        words: text.split_whitespace(),
        at: 0,
    };
    let (count, kinds) = (words.number()?, words.number()?);
    let mut resources = Vec::new();
    for _ in 0..kinds {
        resources.push(Resource::new(words.number()?));
    }
    let (mut tasks, mut lags) = (Vec::new(), Vec::new());
    for at in 0..count as usize {
        let duration = i64::from(words.number()?);
        let mut demands = Vec::new();
        for _ in 0..kinds {
            demands.push(words.number()?);
        }
        tasks.push(Task::new(duration, demands));
        for _ in 0..words.number()? {
            let after = words.number()?;
            let after = after
                .checked_sub(1)
                .ok_or(TextError::Number { word: words.at })?;
            lags.push(Lag::at_least(at, after as usize, duration));
        }
    }
    if words.words.next().is_some() {
        return Err(TextError::More { word: words.at + 1 });
    }
    Problem::new(tasks, resources, lags).map_err(TextError::Problem)
}
