//! The reader of job files, held from outside against texts that stand and texts that do not.

#![allow(clippy::unwrap_used)] // a test that cannot read its own data has failed

mod format_page;
mod local;
mod noise;
mod rules;

use job::{Finding, ReadOptions};
use serde_json::Value;

/// The page that explains the format.
const PAGE: &str = include_str!("../../../../docs/job-format.md");

/// The text of the fenced block of the page that opens with these words.
fn block(opening: &str) -> &'static str {
    let fence = format!("```{opening}\n");
    let start = PAGE.find(&fence).expect("the page has the block") + fence.len();
    let length = PAGE[start..].find("```").expect("the block ends");
    &PAGE[start..start + length]
}

/// The complete small job of the page.
fn yard() -> Value {
    serde_json::from_str(block("json job")).unwrap()
}

/// Everything that is found in a text, whether it stands or not.
fn findings(text: &str) -> Vec<Finding> {
    match job::read(text, &ReadOptions::default()) {
        Ok(reading) => reading.findings,
        Err(findings) => findings,
    }
}

/// Changes a value by JSON pointers: puts a value there, appends it at `-`, or takes it out if there
/// is none.
fn edited(mut value: Value, edits: &[Value]) -> Value {
    for edit in edits {
        let pointer = edit[0].as_str().expect("an edit begins with a pointer");
        let (parent, last) = pointer.rsplit_once('/').expect("a pointer has a slash");
        let parent = value.pointer_mut(parent).expect("the parent is there");
        match (parent, edit.get(1)) {
            (Value::Array(list), Some(new)) if last == "-" => list.push(new.clone()),
            (Value::Array(list), new) => {
                let at: usize = last.parse().unwrap();
                match new {
                    Some(new) => list[at] = new.clone(),
                    None => drop(list.remove(at)),
                }
            }
            (Value::Object(object), Some(new)) => {
                object.insert(last.to_owned(), new.clone());
            }
            (Value::Object(object), None) => {
                object.shift_remove(last).expect("it was there");
            }
            (other, _) => panic!("{pointer} leads into {other}"),
        }
    }
    value
}
