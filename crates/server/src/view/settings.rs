//! Local rules and prices: what holds, what the default is, and where that is from.

use ::job::{DEFAULT_PRACTICE, DEFAULT_PRICES, Settings};
use serde::Serialize;
use toml::{Table, Value};
use utoipa::ToSchema;

use super::PropertyType;

/// A rule or a price.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct SettingView {
    /// A JSON pointer into the header of the job, under which the job may state a value of its own.
    pub path: String,
    /// `practice` or `prices`.
    pub part: String,
    /// The table that it stands in.
    pub section: String,
    /// Its name.
    pub label: String,
    /// What holds for the job.
    pub value: String,
    /// The default.
    pub default: String,
    /// Whether the two differ.
    pub changed: bool,
    /// Where the default is from.
    pub source: String,
    /// What a value of it is: a number, yes or no, or a text with its unit.
    #[serde(rename = "type")]
    pub takes: PropertyType,
}

/// All rules and prices that the defaults know, in their order, with what holds for a job; of a job that cannot be
/// read, what its header states.
pub fn settings(
    held: Option<&Settings>,
    header: &serde_json::Map<String, serde_json::Value>,
) -> Vec<SettingView> {
    let mut all = Vec::new();
    for (part, text) in [("practice", DEFAULT_PRACTICE), ("prices", DEFAULT_PRICES)] {
        // The defaults are read by every job; that they are TOML is tested there.
        let table: Table = text.parse().unwrap_or_default();
        let mut walk = Walk {
            part,
            held,
            header,
            all: &mut all,
        };
        walk.table(&mut Vec::new(), &table);
    }
    all
}

struct Walk<'a> {
    part: &'static str,
    held: Option<&'a Settings>,
    header: &'a serde_json::Map<String, serde_json::Value>,
    all: &'a mut Vec<SettingView>,
}

impl Walk<'_> {
    fn table(&mut self, path: &mut Vec<String>, table: &Table) {
        for (key, value) in table {
            path.push(key.clone());
            match value {
                Value::Table(leaf) if leaf.contains_key("value") => {
                    let source = leaf.get("source").and_then(Value::as_str);
                    if let Some(value) = leaf.get("value") {
                        self.leaf(path, value, source.unwrap_or_default());
                    }
                }
                Value::Table(inner) => self.table(path, inner),
                // Lists are changed in the file.
                Value::Array(_) => {}
                plain => self.leaf(path, plain, ""),
            }
            path.pop();
        }
    }

    fn leaf(&mut self, path: &[String], value: &Value, source: &str) {
        let default = written(value);
        let takes = match value {
            Value::Integer(_) | Value::Float(_) => PropertyType::Number,
            Value::Boolean(_) => PropertyType::Flag,
            _ => PropertyType::Text,
        };
        let dotted = format!("{} {}", self.part, path.join("."));
        let held = self.held.and_then(|held| held.get(&dotted)).cloned();
        let stated = || stated(self.header, self.part, path);
        let value = held.or_else(stated).unwrap_or_else(|| default.clone());
        let pointer: String = path
            .iter()
            .map(|part| format!("/{}", part.replace('~', "~0").replace('/', "~1")))
            .collect();
        let (label, section) = match path.split_last() {
            Some((label, section)) => (label.replace('_', " "), section.join(" › ")),
            None => return,
        };
        self.all.push(SettingView {
            path: format!("/{}{pointer}", self.part),
            part: self.part.to_owned(),
            section: section.replace('_', " "),
            label,
            changed: value != default,
            value,
            default,
            source: source.to_owned(),
            takes,
        });
    }
}

/// What the header of a job states, as it is written.
fn stated(
    header: &serde_json::Map<String, serde_json::Value>,
    part: &str,
    path: &[String],
) -> Option<String> {
    let mut value = header.get(part)?;
    for name in path {
        value = value.get(name)?;
    }
    match value.get("value").unwrap_or(value) {
        serde_json::Value::String(text) => Some(text.clone()),
        other => Some(other.to_string()),
    }
}

fn written(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::job::{DEMO, ReadOptions};

    #[test]
    fn the_defaults_hold_where_the_job_says_nothing() {
        let held = ::job::read(DEMO, &ReadOptions::default()).unwrap().settings;
        let all = settings(Some(&held), &serde_json::Map::new());
        assert!(all.len() > 300, "{}", all.len());
        for one in &all {
            let dotted = one.path[1..].replacen('/', " ", 1).replace('/', ".");
            let dotted = dotted.replace("~1", "/").replace("~0", "~");
            assert!(held.contains_key(&dotted), "{dotted}");
        }
        assert!(all.iter().any(|one| one.source.contains("NRCS")));
    }

    #[test]
    fn what_the_job_states_is_shown_beside_the_default() {
        let mut document = ::job::Document::of(DEMO).unwrap();
        let path = "/prices/labour/wage".to_owned();
        let step = ::job::Step::Set {
            path: path.clone(),
            value: serde_json::json!(99),
        };
        document.change(&[step]).unwrap();
        let reading = document.read(&ReadOptions::default());
        let held = match reading {
            Ok(reading) => reading.settings,
            Err(findings) => panic!("{findings:?}"),
        };
        let all = settings(Some(&held), &serde_json::Map::new());
        let wage = all.iter().find(|one| one.path == path).unwrap();
        assert!(wage.changed && wage.value != wage.default, "{wage:?}");
        let unread = settings(None, &document.header);
        assert!(unread.iter().any(|one| one == wage));
    }
}
