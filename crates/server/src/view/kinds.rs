//! What can be drawn, from the schema of the job file.

use serde::Serialize;
use serde_json::Value;
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
    /// The kind of feature that it names, where it names one.
    pub of: String,
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
const NAMING: [(&str, &str); 3] = [
    ("circuit", "circuit"),
    ("runs_with", "circuit"),
    ("manifold", "manifold"),
];

/// Properties that take a key of a table of the rules.
const KEYS: [(&str, &str); 2] = [("pipe", "pipe"), ("main_pipe", "pipe")];

/// Everything that can be drawn; `pipes` and `methods` are the keys and labels that hold for the job.
pub fn kinds(pipes: &[Choice], methods: &[Choice]) -> Vec<KindView> {
    let schema = ::job::schema();
    let listed = KINDS.iter().filter_map(|&(name, label, group)| {
        let parts = ::job::kinds().find(|parts| parts.name == name)?;
        let about = &schema["$defs"][name];
        let members = &about["properties"]["properties"];
        let required = members["required"].as_array();
        let property = |name: &&str| {
            let must = required.is_some_and(|all| all.iter().any(|one| one == name));
            let mut view = property(name, &members["properties"][*name], must);
            match KEYS.iter().find(|(key, _)| key == name) {
                Some(_) => {
                    view.takes = PropertyType::Choice;
                    view.choices = pipes.to_vec();
                }
                None if *name == "method" => {
                    view.takes = PropertyType::Choice;
                    view.choices = methods.to_vec();
                }
                None => {}
            }
            view
        };
        Some(KindView {
            name: name.to_owned(),
            label: label.to_owned(),
            group,
            geometry: parts.geometry.iter().map(|&shape| shape.to_owned()).collect(),
            about: text(&about["description"]),
            properties: parts.properties.iter().map(property).collect(),
        })
    });
    listed.collect()
}

fn property(name: &str, schema: &Value, required: bool) -> PropertyView {
    let about = text(&schema["description"]);
    let named = schema["oneOf"].as_array().into_iter().flatten();
    let choices = named.filter_map(|choice| {
        let value = choice["const"].as_str()?;
        let label = text(&choice["description"]);
        Some(Choice {
            value: value.to_owned(),
            label: label.trim_end_matches('.').to_owned(),
        })
    });
    let bare = schema["enum"].as_array().into_iter().flatten();
    let bare = bare.filter_map(Value::as_str).map(|value| Choice {
        value: value.to_owned(),
        label: spoken(value),
    });
    let choices: Vec<Choice> = choices.chain(bare).collect();
    let of = NAMING.iter().find(|(member, _)| *member == name);
    let unit = unit(name, schema);
    let takes = match (&choices[..], of, schema["type"].as_str()) {
        ([_, ..], _, _) => PropertyType::Choice,
        (_, Some(_), _) => PropertyType::Feature,
        (_, _, Some("boolean")) => PropertyType::Flag,
        (_, _, Some("number" | "integer")) => PropertyType::Number,
        (_, _, Some("array")) => PropertyType::List,
        _ if !unit.is_empty() => PropertyType::Quantity,
        _ => PropertyType::Text,
    };
    PropertyView {
        name: name.to_owned(),
        label: spoken(name),
        about,
        takes,
        choices,
        unit,
        of: of.map_or("", |(_, kind)| kind).to_owned(),
        required,
    }
}

/// How a value is written: an example of the schema, with a unit that the trade uses.
fn unit(name: &str, schema: &Value) -> String {
    if schema.get("pattern").is_none() {
        return text(&schema["examples"][0]);
    }
    let example = text(&schema["examples"][0]);
    let usual = match example.as_str() {
        "12 m" if name == "elevation" => "12 ft",
        "12 m" => "12 in",
        "12 Pa" => "40 psi",
        "12 m3/s" => "2 gpm",
        other => other,
    };
    usual.to_owned()
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

    #[test]
    fn every_kind_is_listed_once_with_all_its_properties() {
        let views = kinds(&[], &[]);
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
    fn what_a_property_takes_follows_from_the_schema() {
        let views = kinds(&[], &[]);
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
    }
}
