//! What can be drawn, from the schema of the job file.

use ::job::practice::Drawn;
use ::job::{Practice, PriceBook};
use quantity::{Amount, Length, Style, Units};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// A kind of feature.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct KindView {
    /// Its name in the job file.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// With what it is listed.
    pub group: Group,
    /// The shapes that it may have; `null` is one of them.
    pub geometry: Vec<String>,
    /// What it is.
    pub about: String,
    /// What is known of it.
    pub properties: Vec<PropertyView>,
}

/// With what a kind is listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Group {
    /// The property as it is.
    Ground,
    /// What others have buried, and sleeves.
    Services,
    /// What is to be connected.
    System,
    /// What the user has decided.
    Decisions,
}

/// A property of a kind.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PropertyView {
    /// Its name in the job file.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// What it is.
    pub about: String,
    /// What it takes.
    #[serde(rename = "type")]
    pub takes: PropertyType,
    /// What may be chosen.
    pub choices: Vec<Choice>,
    /// How a value is written, such as `12 in`.
    pub unit: String,
    /// What a newly drawn feature takes; empty if it has to be told.
    pub start: String,
    /// The kind of feature that it names, where it names one.
    pub of: String,
    /// The property of the same feature that limits what may be chosen; empty if none does.
    pub within: String,
    /// Whether it has to be there.
    pub required: bool,
}

/// What a property takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum PropertyType {
    /// One of some words.
    Choice,
    /// A number with its unit.
    Quantity,
    /// Any text.
    Text,
    /// Yes or no.
    Flag,
    /// The id of another feature.
    Feature,
    /// A list of texts.
    List,
    /// A plain number.
    Number,
}

/// A word that may be chosen.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Choice {
    /// The word in the job file.
    pub value: String,
    /// In words.
    pub label: String,
    /// Where another property limits the choice: the values of that one with which this may be chosen.
    pub with: Vec<String>,
}

/// What people call the kinds whose names say it not well, and where all of them are listed.
const KINDS: [(&str, &str, Group); 25] = [
    ("boundary", "Property line", Group::Ground),
    ("surface", "Surface", Group::Ground),
    ("obstacle", "Obstacle", Group::Ground),
    ("tree", "Tree", Group::Ground),
    ("soil", "Soil", Group::Ground),
    ("steep", "Slope", Group::Ground),
    ("spot", "Spot elevation", Group::Ground),
    ("gate", "Gate", Group::Ground),
    ("access", "Access", Group::Ground),
    ("mark", "Fixed mark", Group::Ground),
    ("baseline", "Baseline", Group::Ground),
    ("utility", "Buried service", Group::Services),
    ("sleeve", "Sleeve in place", Group::Services),
    ("cable", "Cable to share trenches", Group::Services),
    ("source", "Water source", Group::System),
    ("backflow", "Backflow assembly", Group::System),
    ("controller", "Controller", Group::System),
    ("circuit", "Circuit", Group::System),
    ("valve", "Valve", Group::System),
    ("manifold", "Manifold", Group::System),
    ("head", "Head", Group::System),
    ("drip", "Drip feed", Group::System),
    ("corridor", "Corridor", Group::Decisions),
    ("keep_out", "Keep out", Group::Decisions),
    ("fixed_trench", "Fixed trench", Group::Decisions),
];

/// Properties that name other features, with the kind of these.
const NAMING: [(&str, &str); 2] = [("circuit", "circuit"), ("runs_with", "circuit")];

/// The property that takes a size of pipe, of the family that the feature names.
const SIZE: &str = "service_size";

/// How values are written.
const EXAMPLES: &str = include_str!("../../data/examples.toml");

/// The example of one property.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Example {
    us: String,
    si: String,
}

fn examples() -> BTreeMap<String, Example> {
    // That the file can be read is tested below.
    toml::from_str(EXAMPLES).unwrap_or_default()
}

/// What a newly drawn feature begins with.
fn start(drawn: &Drawn, property: &str) -> Option<Amount> {
    let small = |length: Length| Amount::new(length.si(), Style::SmallLength);
    Some(match property {
        "flow" => drawn.flow.value.amount(),
        "pressure" => drawn.pressure.value.amount(),
        "clear_width" => drawn.clear_width.value.amount(),
        "trunk" => small(drawn.trunk.value),
        "slope" => drawn.slope.value.amount(),
        "coarse" => drawn.coarse.value.amount(),
        "inside" => small(drawn.inside.value),
        "favour" => drawn.favour.value.amount(),
        _ => return None,
    })
}

/// The families of pipe; what is laid new comes before what is only found in the ground.
fn pipes(practice: &Practice) -> Vec<Choice> {
    let families = practice.pipe.iter();
    let mut pipes: Vec<Choice> = families
        .map(|(key, family)| choice(key, &family.label))
        .collect();
    let usual = &practice.circuits.pipe.value;
    pipes.sort_by_key(|pipe| pipe.value != *usual);
    pipes
}

fn choice(value: &str, label: &str) -> Choice {
    Choice {
        value: value.to_owned(),
        label: label.to_owned(),
        with: Vec::new(),
    }
}

/// The sizes of pipe, from small to large, each with the families that have it.
fn sizes(practice: &Practice) -> Vec<Choice> {
    let mut sizes: Vec<Choice> = Vec::new();
    for (family, about) in &practice.pipe {
        for size in &about.sizes {
            let known = sizes.iter().position(|one| one.value == size.name);
            let at = known.unwrap_or_else(|| {
                sizes.push(choice(&size.name, &size.name));
                sizes.len() - 1
            });
            sizes[at].with.push(family.clone());
        }
    }
    let across = |name: &str| ::job::practice::nominal(name).map_or(0.0, Length::si);
    sizes.sort_by(|a, b| across(&a.value).total_cmp(&across(&b.value)));
    sizes
}

/// A description without the table of the file in which the choices stand.
fn without_table(about: &str) -> String {
    let table = about.split_once(", a key of ");
    let rest = table.and_then(|(start, rest)| Some((start, rest.split_once(" table")?.1)));
    rest.map_or_else(
        || about.to_owned(),
        |(start, rest)| format!("{start}{rest}"),
    )
}

/// Everything that can be drawn, by the rules and prices that hold for the job.
pub fn kinds(practice: &Practice, prices: &PriceBook, units: Units) -> Vec<KindView> {
    let (pipes, sizes) = (pipes(practice), sizes(practice));
    let methods = prices.method.iter();
    let methods: Vec<Choice> = methods
        .map(|(id, method)| choice(&id.0, &method.label))
        .collect();
    let schema = ::job::schema();
    let examples = examples();
    let listed = KINDS.iter().filter_map(|&(name, label, group)| {
        let parts = ::job::kinds().find(|parts| parts.name == name)?;
        let about = &schema["$defs"][name];
        let members = &about["properties"]["properties"];
        let required = members["required"].as_array();
        let property = |name: &&str| {
            let must = required.is_some_and(|all| all.iter().any(|one| one == name));
            let mut view = property(name, &members["properties"][*name], must);
            let keys = match *name {
                "pipe" | "main_pipe" => Some(&pipes),
                "method" => Some(&methods),
                SIZE => Some(&sizes),
                _ => None,
            };
            if let Some(keys) = keys {
                view.takes = PropertyType::Choice;
                view.choices.clone_from(keys);
                view.about = without_table(&view.about);
            }
            if *name == SIZE {
                "main_pipe".clone_into(&mut view.within);
            }
            if let Some(example) = examples.get(*name) {
                let written = match units {
                    Units::Us => &example.us,
                    Units::Si => &example.si,
                };
                view.unit.clone_from(written);
            }
            if let Some(amount) = start(&practice.drawn, name) {
                view.start = amount.show(units);
            }
            // What stands on a part on site is looked up there.
            if must && view.start.is_empty() && view.within.is_empty() {
                view.start = view
                    .choices
                    .first()
                    .map_or_else(String::new, |c| c.value.clone());
            }
            view
        };
        Some(KindView {
            name: name.to_owned(),
            label: label.to_owned(),
            group,
            geometry: parts
                .geometry
                .iter()
                .map(|&shape| shape.to_owned())
                .collect(),
            about: text(&about["description"]),
            properties: parts.properties.iter().map(property).collect(),
        })
    });
    listed.collect()
}

fn property(name: &str, schema: &Value, required: bool) -> PropertyView {
    let about = text(&schema["description"]);
    let named = schema["oneOf"].as_array().into_iter().flatten();
    let choices = named.filter_map(|one| {
        let value = one["const"].as_str()?;
        let label = text(&one["description"]);
        Some(choice(value, label.trim_end_matches('.')))
    });
    let bare = schema["enum"].as_array().into_iter().flatten();
    let bare = bare
        .filter_map(Value::as_str)
        .map(|value| choice(value, &spoken(value)));
    let choices: Vec<Choice> = choices.chain(bare).collect();
    let of = NAMING.iter().find(|(member, _)| *member == name);
    let written = schema.get("pattern").is_some();
    let takes = match (&choices[..], of, schema["type"].as_str()) {
        ([_, ..], _, _) => PropertyType::Choice,
        (_, Some(_), _) => PropertyType::Feature,
        (_, _, Some("boolean")) => PropertyType::Flag,
        (_, _, Some("number" | "integer")) => PropertyType::Number,
        (_, _, Some("array")) => PropertyType::List,
        _ if written => PropertyType::Quantity,
        _ => PropertyType::Text,
    };
    PropertyView {
        name: name.to_owned(),
        label: spoken(name),
        about,
        takes,
        choices,
        unit: text(&schema["examples"][0]),
        start: String::new(),
        of: of.map_or("", |(_, kind)| kind).to_owned(),
        within: String::new(),
        required,
    }
}

/// A name in words.
fn spoken(name: &str) -> String {
    name.replace('_', " ")
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn usual(units: Units) -> Vec<KindView> {
        kinds(&Practice::embedded(), &PriceBook::embedded(), units)
    }

    #[test]
    fn every_kind_is_listed_once_with_all_its_properties() {
        let views = usual(Units::Us);
        for parts in ::job::kinds() {
            let found: Vec<&KindView> = views.iter().filter(|v| v.name == parts.name).collect();
            assert_eq!(found.len(), 1, "{}", parts.name);
            let names: Vec<&str> = found[0].properties.iter().map(|p| &*p.name).collect();
            assert_eq!(names, parts.properties);
            for property in &found[0].properties {
                assert!(!property.about.is_empty(), "{}", property.name);
            }
        }
    }

    #[test]
    fn every_quantity_has_an_example_that_can_be_read() {
        assert!(toml::from_str::<BTreeMap<String, Example>>(EXAMPLES).is_ok());
        let schema = ::job::schema();
        for units in [Units::Us, Units::Si] {
            for kind in usual(units) {
                let members =
                    &schema["$defs"][&kind.name]["properties"]["properties"]["properties"];
                for property in kind.properties {
                    if property.takes != PropertyType::Quantity {
                        continue;
                    }
                    let name = (&kind.name, &property.name);
                    assert!(examples().contains_key(&property.name), "{name:?}");
                    let about = members[&property.name]["description"].as_str().unwrap();
                    let known = about.rsplit_once(": ").unwrap().1.trim_end_matches('.');
                    let numeric = |c: char| c.is_ascii_digit() || c == '.';
                    for written in [&property.unit, &property.start] {
                        let unit = written.trim_start_matches(numeric).trim();
                        let unit = if unit.is_empty() { "x" } else { unit };
                        let fits = written.is_empty() || known.split(", ").any(|one| one == unit);
                        assert!(fits, "{name:?} {written}");
                    }
                }
            }
        }
    }

    #[test]
    fn what_a_property_takes_follows_from_the_schema() {
        let views = usual(Units::Us);
        let of = |kind: &str, name: &str| {
            let kind = views.iter().find(|v| v.name == kind).unwrap();
            kind.properties.iter().find(|p| p.name == name).unwrap()
        };
        assert_eq!(of("surface", "surface").takes, PropertyType::Choice);
        assert_eq!(of("surface", "surface").choices.len(), 8);
        assert_eq!(of("head", "flow").takes, PropertyType::Quantity);
        assert_eq!(of("head", "circuit").of, "circuit");
        assert!(!of("head", "circuit").required && of("head", "flow").required);
        assert_eq!(of("utility", "marked").takes, PropertyType::Flag);
        let size = of("source", "service_size");
        assert!(size.takes == PropertyType::Choice && size.start.is_empty());
        let family = &of("source", "main_pipe").choices[0].value;
        assert!(size.choices.iter().any(|one| one.with.contains(family)));
        assert!(!of("circuit", "pipe").about.contains("table"));
    }
}
