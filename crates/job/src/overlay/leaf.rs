//! A leaf of a practice or price file: a value with its source and basis.

use toml::{Table, Value};

/// Members of a leaf.
pub(super) const LEAF: [&str; 3] = ["value", "source", "basis"];

/// Whether a value of a file of defaults is a leaf.
pub(super) fn is_leaf(value: &Value) -> bool {
    value.as_table().is_some_and(|t| t.contains_key("value"))
}

/// A leaf made of a bare value, which rests on the one who gave it.
pub(super) fn given(value: Value, giver: &str) -> Value {
    let mut leaf = Table::new();
    leaf.insert("value".to_owned(), value);
    leaf.insert("source".to_owned(), giver.into());
    leaf.insert("basis".to_owned(), "given".into());
    Value::Table(leaf)
}

/// Writes into every leaf its own dotted path, by which the working of a figure names it.
pub(super) fn name_leaves(table: &mut Table, file: &str) {
    name_below(table, file, "");
}

fn name_below(table: &mut Table, file: &str, path: &str) {
    for (key, value) in table.iter_mut() {
        let below = join(path, key);
        let leaf = is_leaf(value);
        if let Value::Table(inner) = value {
            if leaf {
                inner.insert("path".to_owned(), format!("{file} {below}").into());
            } else {
                name_below(inner, file, &below);
            }
        }
    }
}

/// A dotted path with one more key.
pub(super) fn join(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}
