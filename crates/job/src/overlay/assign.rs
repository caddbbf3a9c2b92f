//! What a layer changes, value by value: unknown names refused, each value tried.

use serde::de::DeserializeOwned;
use toml::{Table, Value};

use super::leaf::{LEAF, given, is_leaf, join};
use super::{Defaults, Layer, typed};
use crate::Finding;
use crate::nearest::nearest;

/// The only value below 0 that would mean something.
const MAY_BE_NEGATIVE: &str = "water.temperature";

/// One value to be put at a path.
#[derive(Debug, Clone)]
pub(super) struct Assignment {
    path: Vec<String>,
    value: Value,
}

/// What the layer changes in the table, as far as its names are known.
pub(super) fn assignments(
    defaults: &Defaults,
    table: &Table,
    layer: &Layer,
    out: &mut Vec<Finding>,
) -> Vec<Assignment> {
    let mut walk = Walk {
        defaults,
        giver: &layer.giver,
        out,
        found: Vec::new(),
    };
    walk.table(table, &layer.table, &mut Vec::new());
    walk.found
}

/// Puts the values in place; those that will not do are named and left out.
pub(super) fn apply<T: DeserializeOwned>(
    defaults: &Defaults,
    table: &mut Table,
    assignments: Vec<Assignment>,
    out: &mut Vec<Finding>,
) {
    let mut all = table.clone();
    assignments.iter().for_each(|a| put(&mut all, a));
    if typed::<T>(defaults, &all).is_ok() {
        *table = all;
        return;
    }
    for assignment in assignments {
        let mut tried = table.clone();
        put(&mut tried, &assignment);
        match typed::<T>(defaults, &tried) {
            Ok(_) => *table = tried,
            Err(error) => out.push(refused(defaults, table, &assignment.path, error.message())),
        }
    }
}

fn put(table: &mut Table, assignment: &Assignment) {
    let Some((last, way)) = assignment.path.split_last() else {
        return;
    };
    let mut here = table;
    for key in way {
        let next = here
            .entry(key.clone())
            .or_insert_with(|| Value::Table(Table::new()));
        match next {
            Value::Table(inner) => here = inner,
            _ => return,
        }
    }
    here.insert(last.clone(), assignment.value.clone());
}

fn refused(defaults: &Defaults, table: &Table, path: &[String], message: &str) -> Finding {
    let subject = format!("{} {}", defaults.name, path.join("."));
    let what = message
        .strip_prefix(&format!("{subject}: "))
        .unwrap_or(message);
    let mend = match at(table, path).map(|now| now.get("value").unwrap_or(now)) {
        Some(now) if !now.is_table() && !now.is_array() => {
            format!("write a value like the one that it replaces, {now}")
        }
        _ => "write it as the default file does".to_owned(),
    };
    let what = what.trim().replace('\n', " ");
    Finding::error("bad-override", subject, what, mend)
}

fn at<'a>(table: &'a Table, path: &[String]) -> Option<&'a Value> {
    let (first, rest) = path.split_first()?;
    rest.iter()
        .try_fold(table.get(first)?, |here, key| here.get(key))
}

struct Walk<'a> {
    defaults: &'a Defaults,
    giver: &'a str,
    out: &'a mut Vec<Finding>,
    found: Vec<Assignment>,
}

impl Walk<'_> {
    fn table(&mut self, known: &Table, over: &Table, path: &mut Vec<String>) {
        let open = self.is_open(path);
        let model = open.then(|| union(known));
        for (key, value) in over {
            path.push(key.clone());
            match (known.get(key), &model) {
                (Some(known), Some(model)) if !is_leaf(known) => {
                    self.value(&both(known, model), value, path);
                }
                (Some(known), _) => self.value(known, value, path),
                (None, Some(model)) => self.entry(model, value, path),
                (None, None) => self.unknown(known, key, path),
            }
            path.pop();
        }
    }

    fn value(&mut self, known: &Value, over: &Value, path: &mut Vec<String>) {
        match (known, over) {
            (known, over) if is_leaf(known) => self.leaf(over, path),
            (Value::Table(known), Value::Table(over)) => self.table(known, over, path),
            (Value::Table(known), _) => {
                let names: Vec<&str> = known.keys().map(String::as_str).collect();
                self.refuse(path, "is a table, not a value", &listed(&names));
            }
            (Value::Array(_), Value::Array(_)) | (Value::String(_), Value::String(_)) => {
                self.keep(path, over.clone());
            }
            (known, _) => {
                let what = format!("is not {}", named(known));
                self.refuse(path, &what, "write it as the default file does");
            }
        }
    }

    /// A new entry of an open table; it is tried as a whole.
    fn entry(&mut self, model: &Value, over: &Value, path: &mut Vec<String>) {
        let before = std::mem::take(&mut self.found);
        self.value(model, over, path);
        let parts = std::mem::replace(&mut self.found, before);
        if parts.is_empty() {
            return;
        }
        let depth = path.len();
        if let [whole] = &parts[..]
            && whole.path.len() == depth
        {
            self.found.push(whole.clone());
            return;
        }
        let mut entry = Table::new();
        for mut part in parts {
            part.path.drain(..depth);
            put(&mut entry, &part);
        }
        self.keep(path, Value::Table(entry));
    }

    fn leaf(&mut self, over: &Value, path: &[String]) {
        let plain = over.get("value").unwrap_or(over);
        if matches!(
            plain,
            Value::Boolean(_) | Value::Datetime(_) | Value::Array(_)
        ) {
            self.refuse(
                path,
                "is neither a number nor a text",
                "write one of the two",
            );
            return;
        }
        let Value::Table(table) = over else {
            self.keep(path, given(over.clone(), self.giver));
            return;
        };
        let strange: Vec<&String> = table
            .keys()
            .filter(|k| !LEAF.contains(&k.as_str()))
            .collect();
        for key in &strange {
            let what = format!("has an unknown member \"{key}\"");
            self.refuse(
                path,
                &what,
                "write a bare value or { value, source, basis }",
            );
        }
        let Some(value) = table.get("value") else {
            self.refuse(
                path,
                "has no `value`",
                "write a bare value or { value, source, basis }",
            );
            return;
        };
        if strange.is_empty() {
            let mut leaf = given(value.clone(), self.giver);
            if let Value::Table(whole) = &mut leaf {
                whole.extend(table.clone());
            }
            self.keep(path, leaf);
        }
    }

    fn keep(&mut self, path: &[String], value: Value) {
        if path.join(".") != MAY_BE_NEGATIVE && has_negative(&value) {
            self.refuse(path, "is negative", "write a value of 0 or more");
            return;
        }
        let path = path.to_vec();
        self.found.push(Assignment { path, value });
    }

    fn is_open(&self, path: &[String]) -> bool {
        self.defaults.open.iter().any(|open| {
            let keys: Vec<&str> = open.split('.').collect();
            let fits = |(key, own): (&&str, &String)| *key == "*" || key == own;
            keys.len() == path.len() && keys.iter().zip(path).all(fits)
        })
    }

    fn unknown(&mut self, known: &Table, key: &str, path: &[String]) {
        let names: Vec<&str> = known.keys().map(String::as_str).collect();
        let parent = path[..path.len() - 1]
            .iter()
            .fold(String::new(), |p, k| join(&p, k));
        let mend = match nearest(key, &names) {
            Some(near) => format!(
                "did you mean \"{}\"? {}",
                join(&parent, near),
                listed(&names)
            ),
            None => listed(&names),
        };
        let subject = format!("{} {}", self.defaults.name, path.join("."));
        let what = format!("is not known (given by {})", self.giver);
        self.out
            .push(Finding::error("unknown-override", subject, what, mend));
    }

    fn refuse(&mut self, path: &[String], what: &str, mend: &str) {
        let subject = format!("{} {}", self.defaults.name, path.join("."));
        self.out
            .push(Finding::error("bad-override", subject, what, mend));
    }
}

/// Whether a value, or any within it, is below 0.
fn has_negative(value: &Value) -> bool {
    match value {
        Value::Integer(n) => *n < 0,
        Value::Float(n) => *n < 0.0,
        Value::String(text) => {
            let mut parts = text.split(',').map(str::trim);
            parts.any(|p| {
                p.starts_with('-') && p[1..].starts_with(|c: char| c == '.' || c.is_ascii_digit())
            })
        }
        Value::Array(list) => list.iter().any(has_negative),
        leaf if is_leaf(leaf) => leaf.get("value").is_some_and(has_negative),
        Value::Table(table) => table.values().any(has_negative),
        _ => false,
    }
}

fn listed(names: &[&str]) -> String {
    format!("known here: {}", names.join(", "))
}

fn named(value: &Value) -> &'static str {
    match value {
        Value::Array(_) => "a list",
        Value::String(_) => "a text",
        _ => "a value of this kind",
    }
}

/// What an entry of an open table may hold: everything that any of its entries holds.
fn union(entries: &Table) -> Value {
    let mut whole = Value::Table(Table::new());
    for entry in entries.values() {
        whole = both(entry, &whole);
    }
    whole
}

/// The members of two tables together; of two leaves or plain values the first.
fn both(first: &Value, second: &Value) -> Value {
    match (first, second) {
        (Value::Table(a), Value::Table(b)) if !is_leaf(first) => {
            let mut whole = a.clone();
            for (key, value) in b {
                let own = a
                    .get(key)
                    .map_or_else(|| value.clone(), |own| both(own, value));
                whole.insert(key.clone(), own);
            }
            Value::Table(whole)
        }
        _ => first.clone(),
    }
}
