//! Every value of rules and prices by its dotted name, as it is written.

use std::collections::BTreeMap;
use toml::{Table, Value};

use super::leaf::{is_leaf, join};

/// Values of rules and prices by their dotted names, such as `prices labour.wage`, as they are written.
pub type Settings = BTreeMap<String, String>;

/// Puts every value of a table in; lists go by place, from 1 on.
pub(super) fn put(file: &str, table: &Table, out: &mut Settings) {
    for (key, value) in table {
        below(file, key, value, out);
    }
}

fn below(file: &str, path: &str, value: &Value, out: &mut Settings) {
    let mut keep = |text: String| {
        out.insert(format!("{file} {path}"), text);
    };
    match value {
        Value::Table(leaf) if is_leaf(value) => {
            if let Some(inner) = leaf.get("value") {
                keep(text(inner));
            }
        }
        Value::Table(inner) => {
            for (key, value) in inner {
                below(file, &join(path, key), value, out);
            }
        }
        Value::Array(list) => {
            for (place, value) in (1..).zip(list) {
                below(file, &join(path, &place.to_string()), value, out);
            }
        }
        plain => keep(text(plain)),
    }
}

fn text(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}
