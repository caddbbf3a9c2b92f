//! Which things of a file become which features: by the name of their layer, block, code or property.

mod check;
mod pattern;
mod read;

use job::{Finding, KindParts};
use serde_json::{Map, Value};

use pattern::Pattern;

/// Rules that map names in a file to kinds of feature. See `docs/exchange.md` for its form.
///
/// ```
/// let text = "[layer.\"V-BLDG*\"]\nkind = \"obstacle\"\nobstacle = \"building\"\n";
/// let mapping = exchange::Mapping::from_toml(text).unwrap();
/// assert!(exchange::Mapping::from_pairs(["L-TREE=tre"]).is_err());
/// let both = mapping.merged(exchange::Mapping::from_pairs(["L-BED=surface,surface=bed"]).unwrap());
/// # let _ = both;
/// ```
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mapping {
    rules: Vec<Rule>,
}

/// What a rule goes by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum By {
    /// The name of anything.
    Any,
    Layer,
    Block,
    Code,
    /// The value of a property of this name.
    Property(String),
    /// Nothing: it holds where no other does.
    Otherwise,
}

/// What becomes of the things that a rule speaks of.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Rule {
    by: By,
    pattern: Pattern,
    /// The kind; nothing if they are to be left.
    pub kind: Option<KindParts>,
    /// Properties beside `kind`.
    pub properties: Map<String, Value>,
}

impl Mapping {
    /// Reads a mapping file.
    ///
    /// # Errors
    /// All that is wrong with it: what is no TOML, kinds and properties that there are not.
    pub fn from_toml(text: &str) -> Result<Self, Vec<Finding>> {
        read::toml(text)
    }

    /// Reads pairs such as `V-BLDG=obstacle,obstacle=building`; the name on the left is that of a layer, block,
    /// code or property value.
    ///
    /// # Errors
    /// All that is wrong with them.
    pub fn from_pairs<I: IntoIterator<Item = S>, S: AsRef<str>>(
        pairs: I,
    ) -> Result<Self, Vec<Finding>> {
        read::pairs(pairs.into_iter())
    }

    /// Both together; where both speak of a name, `later` counts.
    #[must_use]
    pub fn merged(mut self, later: Self) -> Self {
        self.rules.extend(later.rules);
        self
    }

    /// The rule for a name: one with the name itself before one with wildcards, a later one before an earlier.
    /// A name that is a kind, or a kind with its class, such as `obstacle-building`, needs no rule.
    pub(crate) fn rule(&self, by: &By, name: &str) -> Option<Rule> {
        let lowered = name.trim().to_lowercase();
        let speaks =
            |rule: &&Rule| (rule.by == *by || rule.by == By::Any) && rule.pattern.matches(&lowered);
        let found = self
            .rules
            .iter()
            .filter(speaks)
            .max_by_key(|rule| rule.pattern.weight());
        match found {
            Some(rule) => Some(rule.clone()),
            None => own_name(&lowered),
        }
    }

    /// The rule for what no other speaks of.
    pub(crate) fn otherwise(&self) -> Option<Rule> {
        let found = self
            .rules
            .iter()
            .rev()
            .find(|rule| rule.by == By::Otherwise);
        found.cloned()
    }

    /// The names of properties by whose values there are rules.
    pub(crate) fn properties(&self) -> impl Iterator<Item = &str> {
        self.rules.iter().filter_map(|rule| match &rule.by {
            By::Property(name) => Some(name.as_str()),
            _ => None,
        })
    }

    /// Whether there are rules by any name, which hold for the values of properties too.
    pub(crate) fn by_any(&self) -> bool {
        self.rules.iter().any(|rule| rule.by == By::Any)
    }
}

impl Rule {
    /// A kind without further properties.
    pub(crate) fn of(kind: KindParts) -> Self {
        Self {
            by: By::Any,
            pattern: Pattern::of(kind.name),
            kind: Some(kind),
            properties: Map::new(),
        }
    }
}

/// The kind of this name.
pub(crate) fn kind(name: &str) -> Option<KindParts> {
    job::kinds().find(|kind| kind.name == name)
}

/// The property of a kind that says which sort of it, if it has one.
pub(crate) fn class_of(kind: &str) -> Option<&'static str> {
    match kind {
        "surface" => Some("surface"),
        "obstacle" => Some("obstacle"),
        "utility" => Some("service"),
        _ => None,
    }
}

/// The rule of a name that is a kind, or a kind and its class.
fn own_name(lowered: &str) -> Option<Rule> {
    let plain: String = lowered
        .chars()
        .map(|c| if c == ' ' { '_' } else { c })
        .collect();
    let whole = plain.replace('-', "_");
    if let Some(kind) = kind(&whole) {
        return Some(Rule::of(kind));
    }
    let (first, class) = plain.split_once('-')?;
    let kind = kind(first)?;
    let mut rule = Rule::of(kind);
    let value = class.replace('-', "_");
    rule.properties
        .insert(class_of(kind.name)?.to_owned(), Value::from(value.as_str()));
    known_class(kind.name, value).then_some(rule)
}

/// Whether a kind has a class of this name.
fn known_class(kind: &str, class: String) -> bool {
    let class = Value::from(class);
    match kind {
        "surface" => serde_json::from_value::<job::SurfaceKind>(class).is_ok(),
        "obstacle" => serde_json::from_value::<job::ObstacleKind>(class).is_ok(),
        "utility" => serde_json::from_value::<job::ServiceClass>(class).is_ok(),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mapped(mapping: &Mapping, by: &By, name: &str) -> String {
        match mapping.rule(by, name) {
            Some(Rule {
                kind: Some(kind),
                properties,
                ..
            }) => {
                format!("{} {}", kind.name, Value::from(properties))
            }
            Some(_) => "left".to_owned(),
            None => "nothing".to_owned(),
        }
    }

    #[test]
    fn the_name_itself_counts_before_wildcards_and_a_later_rule_before_an_earlier() {
        let text = "[layer.\"V-*\"]\nkind = \"boundary\"\n[layer.V-BLDG]\nkind = \"obstacle\"\n\
                    obstacle = \"building\"\n[block.\"HEAD*\"]\nkind = \"head\"\nflow = \"1.8 gpm\"\n";
        let mapping = Mapping::from_toml(text).unwrap();
        assert_eq!(mapped(&mapping, &By::Layer, "v-prop"), "boundary {}");
        let building = r#"obstacle {"obstacle":"building"}"#;
        assert_eq!(mapped(&mapping, &By::Layer, "V-BLDG"), building);
        assert_eq!(
            mapped(&mapping, &By::Block, "Head-12"),
            r#"head {"flow":"1.8 gpm"}"#
        );
        let later = mapping.merged(Mapping::from_pairs(["V-BLDG=none"]).unwrap());
        assert_eq!(mapped(&later, &By::Layer, "V-BLDG"), "left");
    }

    #[test]
    fn names_of_kinds_need_no_rule() {
        let mapping = Mapping::default();
        assert_eq!(mapped(&mapping, &By::Layer, "Keep-Out"), "keep_out {}");
        assert_eq!(
            mapped(&mapping, &By::Layer, "utility-gas"),
            r#"utility {"service":"gas"}"#
        );
        assert_eq!(mapped(&mapping, &By::Layer, "utility-beer"), "nothing");
        assert_eq!(mapped(&mapping, &By::Layer, "0"), "nothing");
    }

    #[test]
    fn slips_are_named_with_what_was_meant() {
        let text = "[layer.A]\nkind = \"tre\"\n[layer.B]\nkind = \"tree\"\ntrunc = \"3 in\"\n\
                    [layer.C]\nkind = \"surface\"\nsurface = \"lawnkept\"\n[lyer.D]\nkind = \"tree\"\n[layer.E]\n";
        let findings = Mapping::from_toml(text).unwrap_err();
        let rules: Vec<&str> = findings.iter().map(|f| f.rule.as_str()).collect();
        let wanted = [
            "unknown-kind",
            "unknown-property",
            "unknown-word",
            "no-kind",
            "unknown-table",
        ];
        assert!(
            wanted.iter().all(|rule| rules.contains(rule)),
            "{findings:#?}"
        );
        assert!(
            findings.iter().any(|f| f.mend.contains("trunk")),
            "{findings:#?}"
        );
    }
}
