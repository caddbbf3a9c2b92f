//! A mapping from a file or from pairs.

use job::Finding;
use serde_json::{Map, Value};
use toml::Table;

use super::{By, Mapping, Pattern, Rule, check, kind};
use crate::report::shown;

/// The kind of what is to be left without a word.
const LEAVE: &str = "none";

/// Most rules of a mapping.
const MOST_RULES: usize = 2_000;

/// Largest mapping file, bytes.
const LARGEST: usize = 1 << 20;

pub(super) fn toml(text: &str) -> Result<Mapping, Vec<Finding>> {
    if text.len() > LARGEST {
        let what = "is over 1 MiB large";
        let mend = "make sure that it is the mapping file";
        return Err(vec![Finding::error(
            "file-too-large",
            "mapping file",
            what,
            mend,
        )]);
    }
    let table: Table = text.parse().map_err(|error: toml::de::Error| {
        let what = format!("is no TOML: {}", error.message());
        let line = error.span().map_or(0, |span| {
            text.as_bytes()
                .iter()
                .take(span.start)
                .filter(|b| **b == b'\n')
                .count()
                + 1
        });
        vec![Finding::error(
            "not-toml",
            "mapping file",
            what,
            format!("look at line {line}"),
        )]
    })?;
    let mut reader = Reader::default();
    for (name, value) in &table {
        reader.table(name, value);
    }
    reader.done()
}

pub(super) fn pairs<S: AsRef<str>>(
    pairs: impl Iterator<Item = S>,
) -> Result<Mapping, Vec<Finding>> {
    let mut reader = Reader::default();
    for pair in pairs {
        reader.pair(pair.as_ref());
    }
    reader.done()
}

#[derive(Default)]
struct Reader {
    rules: Vec<Rule>,
    findings: Vec<Finding>,
}

impl Reader {
    fn done(mut self) -> Result<Mapping, Vec<Finding>> {
        if self.rules.len() > MOST_RULES {
            let what = format!("has {} rules; {MOST_RULES} are the most", self.rules.len());
            let mend = "use wildcards, such as \"V-*\"";
            self.findings
                .push(Finding::error("too-many-rules", "mapping", what, mend));
        }
        self.findings.truncate(crate::limits::MOST_FINDINGS);
        if self.findings.is_empty() {
            Ok(Mapping { rules: self.rules })
        } else {
            Err(self.findings)
        }
    }

    fn table(&mut self, name: &str, value: &toml::Value) {
        match name {
            "layer" => self.rules_of(&By::Layer, name, value),
            "block" => self.rules_of(&By::Block, name, value),
            "code" => self.rules_of(&By::Code, name, value),
            "property" => {
                for (property, value) in value.as_table().into_iter().flatten() {
                    let by = By::Property(property.to_lowercase());
                    self.rules_of(&by, &format!("property.{property}"), value);
                }
            }
            "otherwise" => self.rule(By::Otherwise, "*", name, value),
            _ => self.fault(
                "unknown-table",
                name,
                "is no table of a mapping",
                "use layer, block, code, property or otherwise",
            ),
        }
    }

    fn rules_of(&mut self, by: &By, place: &str, value: &toml::Value) {
        let Some(table) = value.as_table() else {
            let mend = format!("write [{place}.NAME] with kind = \"…\" below it");
            return self.fault("wrong-type", place, "is no table", &mend);
        };
        for (name, value) in table {
            self.rule(by.clone(), name, &format!("{place}.{name}"), value);
        }
    }

    fn rule(&mut self, by: By, pattern: &str, place: &str, value: &toml::Value) {
        let Some(table) = value.as_table() else {
            let mend = format!("write [{place}] with kind = \"…\" below it");
            return self.fault("wrong-type", place, "is no table", &mend);
        };
        let mut properties = Map::new();
        for (name, value) in table {
            match value {
                toml::Value::String(text) => {
                    properties.insert(name.clone(), Value::from(text.as_str()));
                }
                toml::Value::Boolean(flag) => {
                    properties.insert(name.clone(), Value::from(*flag));
                }
                _ => {
                    let what = format!("`{}` is neither a text nor true or false", shown(name));
                    self.fault(
                        "wrong-type",
                        place,
                        &what,
                        "write it in quotes, with its unit",
                    );
                }
            }
        }
        self.add(by, pattern, place, properties);
    }

    fn add(&mut self, by: By, pattern: &str, place: &str, mut properties: Map<String, Value>) {
        let place = shown(place);
        let named = properties.shift_remove("kind");
        let Some(name) = named.as_ref().and_then(Value::as_str) else {
            let mend = "add kind = \"…\"; kind = \"none\" leaves it";
            return self.fault(
                "no-kind",
                &place,
                "does not say which kind it becomes",
                mend,
            );
        };
        let found = kind(name);
        match found {
            Some(kind) => self.findings.extend(check::rule(kind, &properties, &place)),
            None if name == LEAVE => {}
            None => {
                let findings = check::unknown(&shown(name), &place);
                self.findings.extend(findings);
            }
        }
        self.rules.push(Rule {
            by,
            pattern: Pattern::of(pattern),
            kind: found,
            properties,
        });
    }

    fn pair(&mut self, pair: &str) {
        let Some((name, right)) = pair.split_once('=') else {
            let mend = "write NAME=KIND, such as V-BLDG=obstacle,obstacle=building";
            return self.fault("no-kind", &shown(pair), "has no `=`", mend);
        };
        let mut parts = right.split(',');
        let mut properties = Map::new();
        let kind = parts.next().unwrap_or_default().trim();
        properties.insert("kind".to_owned(), Value::from(kind));
        for part in parts {
            let Some((property, value)) = part.split_once('=') else {
                let what = format!("`{}` has no `=`", shown(part));
                self.fault("no-kind", &shown(pair), &what, "write PROPERTY=VALUE");
                continue;
            };
            let value = match value.trim() {
                "true" => Value::from(true),
                "false" => Value::from(false),
                text => Value::from(text),
            };
            properties.insert(property.trim().to_owned(), value);
        }
        self.add(By::Any, name, pair, properties);
    }

    fn fault(&mut self, rule: &str, subject: &str, what: &str, mend: &str) {
        self.findings
            .push(Finding::error(rule, shown(subject), what, mend));
    }
}
