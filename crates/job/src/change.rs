//! Changes to a document, step by step, and the steps that take them back.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use crate::{Document, Finding};

/// One step of a change to a [`Document`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "op", rename_all = "snake_case")]
pub enum Step {
    /// A feature, new or in place of the one with its id.
    Put {
        /// The feature, as GeoJSON, with an id.
        feature: Value,
        /// Its place among the features if it is new; without it, the last.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<usize>,
    },
    /// A feature is taken out.
    Remove {
        /// Its id.
        id: String,
    },
    /// A value in the header.
    Set {
        /// Where: a JSON pointer (RFC 6901) into the header.
        path: String,
        /// The value; `null` takes out what is there.
        value: Value,
    },
}

impl Document {
    /// Carries out the steps of a change, all or none, and gives the steps that take it back.
    ///
    /// What a step puts in may be against any rule of a job; only what could not be found again is refused.
    ///
    /// # Errors
    /// Everything that stands against a step that cannot be carried out; the document is then as it was.
    pub fn change(&mut self, steps: &[Step]) -> Result<Vec<Step>, Finding> {
        let mut back = Vec::with_capacity(steps.len());
        for step in steps {
            match self.carry_out(step) {
                Ok(inverse) => back.push(inverse),
                Err(finding) => {
                    // What was carried out can be taken back: these are its own inverses.
                    for inverse in back.iter().rev() {
                        let taken_back = self.carry_out(inverse);
                        debug_assert!(taken_back.is_ok());
                    }
                    return Err(finding);
                }
            }
        }
        back.reverse();
        Ok(back)
    }

    fn carry_out(&mut self, step: &Step) -> Result<Step, Finding> {
        match step {
            Step::Put { feature, at } => self.put(feature, *at),
            Step::Remove { id } => self.remove(id),
            Step::Set { path, value } => self.set(path, value),
        }
    }

    fn place_of(&self, id: &str) -> Option<usize> {
        let is_it = |feature: &Value| feature.get("id").and_then(Value::as_str) == Some(id);
        self.features.iter().position(is_it)
    }

    fn put(&mut self, feature: &Value, at: Option<usize>) -> Result<Step, Finding> {
        let id = feature.get("id").and_then(Value::as_str).unwrap_or("");
        if id.is_empty() {
            return Err(Finding::error(
                "change-without-id",
                "",
                "a feature that is to be put in has no id",
                "give it an `id`: a text that no other feature has",
            ));
        }
        match self.place_of(id) {
            Some(place) => {
                let feature = std::mem::replace(&mut self.features[place], feature.clone());
                Ok(Step::Put { feature, at: None })
            }
            None => {
                let place = at.map_or(self.features.len(), |at| at.min(self.features.len()));
                self.features.insert(place, feature.clone());
                Ok(Step::Remove { id: id.to_owned() })
            }
        }
    }

    fn remove(&mut self, id: &str) -> Result<Step, Finding> {
        let place = self.place_of(id).ok_or_else(|| {
            Finding::error(
                "change-of-nothing",
                id,
                "there is no such feature to take out",
                "it may be gone already: look at the job as it is now",
            )
        })?;
        let feature = self.features.remove(place);
        Ok(Step::Put {
            feature,
            at: Some(place),
        })
    }

    fn set(&mut self, path: &str, value: &Value) -> Result<Step, Finding> {
        let wrong = |what: String| {
            Finding::error(
                "change-of-nothing",
                "",
                format!("`{path}` {what}"),
                "give a path into the header such as /name or /prices/currency",
            )
        };
        let parts: Vec<String> = match path.strip_prefix('/') {
            Some(rest) => rest.split('/').map(plain).collect(),
            None => return Err(wrong("does not begin with /".to_owned())),
        };
        let (last, above) = parts.split_last().ok_or_else(|| wrong("is empty".into()))?;
        // Objects on the way that are not there are made, and taken out again by what takes the step back.
        let mut object = &mut self.header;
        let mut made: Option<String> = None;
        for (depth, part) in above.iter().enumerate() {
            if !object.contains_key(part) {
                if value.is_null() {
                    return Ok(Step::Set {
                        path: path.to_owned(),
                        value: Value::Null,
                    });
                }
                made.get_or_insert_with(|| pointer(&parts[..=depth]));
            }
            let inner = object
                .entry(part.as_str())
                .or_insert_with(|| Value::Object(Map::new()));
            object = inner
                .as_object_mut()
                .ok_or_else(|| wrong(format!("leads through `{part}`, which holds no others")))?;
        }
        let before = match value.is_null() {
            true => object.shift_remove(last),
            false => object.insert(last.clone(), value.clone()),
        };
        Ok(Step::Set {
            path: made.unwrap_or_else(|| path.to_owned()),
            value: before.unwrap_or(Value::Null),
        })
    }
}

/// A part of a pointer without its escapes (RFC 6901, section 4).
fn plain(part: &str) -> String {
    part.replace("~1", "/").replace("~0", "~")
}

fn pointer(parts: &[String]) -> String {
    let escaped = |part: &String| format!("/{}", part.replace('~', "~0").replace('/', "~1"));
    parts.iter().map(escaped).collect()
}

/// The steps that lead from one document to another.
pub fn steps_between(from: &Document, to: &Document) -> Vec<Step> {
    let mut steps = Vec::new();
    let id = |feature: &Value| feature.get("id").and_then(Value::as_str).map(str::to_owned);
    let found: std::collections::BTreeMap<String, &Value> = from
        .features
        .iter()
        .filter_map(|feature| Some((id(feature)?, feature)))
        .collect();
    let wanted: std::collections::BTreeSet<String> = to.features.iter().filter_map(id).collect();
    for name in found.keys().filter(|name| !wanted.contains(*name)) {
        steps.push(Step::Remove { id: name.clone() });
    }
    for (at, feature) in to.features.iter().enumerate() {
        let Some(name) = id(feature) else { continue };
        match found.get(&name) {
            Some(before) if *before == feature => {}
            Some(_) => steps.push(Step::Put {
                feature: feature.clone(),
                at: None,
            }),
            None => steps.push(Step::Put {
                feature: feature.clone(),
                at: Some(at),
            }),
        }
    }
    let names = from.header.keys().chain(to.header.keys());
    for name in names.collect::<std::collections::BTreeSet<_>>() {
        if from.header.get(name) != to.header.get(name) {
            steps.push(Step::Set {
                path: pointer(std::slice::from_ref(name)),
                value: to.header.get(name).cloned().unwrap_or(Value::Null),
            });
        }
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use serde_json::json;

    fn feature(id: &str, x: i64) -> Value {
        json!({ "type": "Feature", "id": id, "properties": { "kind": "head" },
                "geometry": { "type": "Point", "coordinates": [x, 0] } })
    }

    fn document() -> Document {
        let mut document = Document::default();
        document.header.insert("name".into(), json!("A garden"));
        document.features = ["A", "B", "C"].map(|id| feature(id, 1)).to_vec();
        document
    }

    fn step() -> impl Strategy<Value = Step> {
        let id = prop::sample::select(vec!["A", "B", "C", "D", "E", ""]);
        let path = prop::sample::select(vec!["/name", "/prices/a/b", "/prices/a", "/x~1y", "bad"]);
        prop_oneof![
            (id.clone(), 0..9_i64, prop::option::of(0..5_usize)).prop_map(|(id, x, at)| {
                Step::Put {
                    feature: feature(id, x),
                    at,
                }
            }),
            id.prop_map(|id| Step::Remove { id: id.to_owned() }),
            (path, prop::option::of(0..9_i64)).prop_map(|(path, value)| Step::Set {
                path: path.to_owned(),
                value: json!(value),
            }),
        ]
    }

    proptest! {
        #[test]
        fn what_is_taken_back_is_as_it_was(steps in prop::collection::vec(step(), 0..12)) {
            let before = document();
            let mut changed = before.clone();
            match changed.change(&steps) {
                Ok(back) => {
                    let after = changed.clone();
                    let again = changed.change(&back).unwrap();
                    prop_assert_eq!(&changed.features, &before.features);
                    prop_assert_eq!(&changed.header, &before.header);
                    changed.change(&again).unwrap();
                    prop_assert_eq!(&changed.features, &after.features);
                    prop_assert_eq!(&changed.header, &after.header);
                }
                Err(_) => prop_assert_eq!(changed, before),
            }
        }

        #[test]
        fn steps_between_lead_there(steps in prop::collection::vec(step(), 0..12)) {
            let before = document();
            let mut after = before.clone();
            if after.change(&steps).is_ok() {
                let mut led = before.clone();
                led.change(&steps_between(&before, &after)).unwrap();
                let sorted = |document: &Document| {
                    let mut all: Vec<String> =
                        document.features.iter().map(Value::to_string).collect();
                    all.sort();
                    all
                };
                prop_assert_eq!(sorted(&led), sorted(&after));
                prop_assert_eq!(led.header, after.header);
            }
        }
    }

    #[test]
    fn a_feature_that_comes_back_stands_where_it_stood() {
        let mut document = document();
        let back = document.change(&[Step::Remove { id: "B".into() }]).unwrap();
        document.change(&back).unwrap();
        assert_eq!(document.features[1]["id"], "B");
    }

    #[test]
    fn values_are_set_where_nothing_was() {
        let mut document = document();
        let set = Step::Set {
            path: "/prices/method/spade/rate".into(),
            value: json!("2 yd3/h"),
        };
        let back = document.change(&[set]).unwrap();
        assert_eq!(
            document.header["prices"]["method"]["spade"]["rate"],
            "2 yd3/h"
        );
        document.change(&back).unwrap();
        assert!(!document.header.contains_key("prices"));
    }
}
