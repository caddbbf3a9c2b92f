//! Local rules and prices: the embedded defaults, the user's own files over them, the job's own values
//! over these.

mod assign;
mod consistency;
mod layer;
mod leaf;
mod settings;

pub(crate) use layer::Layer;
pub use settings::Settings;

use serde::de::DeserializeOwned;
use std::sync::LazyLock;
use toml::Table;

use crate::{Finding, Practice, PriceBook};

/// The default practice file.
pub const DEFAULT_PRACTICE: &str = include_str!("../data/practice.toml");

/// The default price file.
pub const DEFAULT_PRICES: &str = include_str!("../data/prices.toml");

/// Keys under which a file may add entries of its own, as dotted paths; `*` stands for any key.
const OPEN_IN_PRICES: [&str; 6] = [
    "carrier",
    "method",
    "method.*.pace",
    "pipe",
    "pipe.*",
    "wire",
];
const OPEN_IN_PRACTICE: [&str; 8] = [
    "compactor",
    "compactor.*.lift",
    "compactor.*.passes",
    "cover.exposed_from",
    "cover.quiet_from",
    "excavation.bench",
    "pipe",
    "soil_class",
];

/// The rules and prices that hold for a job.
#[derive(Debug, Clone)]
pub(crate) struct Local {
    pub practice: Practice,
    pub prices: PriceBook,
    pub settings: Settings,
}

impl Local {
    /// The defaults with the layers over them, the later ones over the earlier.
    pub fn of(practice: Vec<Layer>, prices: Vec<Layer>, out: &mut Vec<Finding>) -> Self {
        let before = out.len();
        let (practice, prices) = (
            laid(&PRACTICE, practice, out),
            laid::<PriceBook>(&PRICES, prices, out),
        );
        let mut settings = Settings::new();
        settings::put(PRACTICE.name, &practice.table, &mut settings);
        settings::put(PRICES.name, &prices.table, &mut settings);
        let local = Self {
            practice: practice.typed,
            prices: prices.typed,
            settings,
        };
        // A value that was refused leaves others without their partner; one message is enough.
        if out.len() == before {
            consistency::check(&local, out);
        }
        local
    }
}

impl Practice {
    /// The default rules.
    pub fn embedded() -> Self {
        laid(&PRACTICE, Vec::new(), &mut Vec::new()).typed
    }
}

impl PriceBook {
    /// The default prices.
    pub fn embedded() -> Self {
        laid(&PRICES, Vec::new(), &mut Vec::new()).typed
    }
}

/// A file of defaults.
struct Defaults {
    name: &'static str,
    table: Table,
    open: &'static [&'static str],
}

impl Defaults {
    fn of(name: &'static str, text: &str, open: &'static [&'static str]) -> Self {
        let table = text.parse();
        let table = table.expect("a test reads the embedded defaults");
        Self { name, table, open }
    }
}

static PRACTICE: LazyLock<Defaults> =
    LazyLock::new(|| Defaults::of("practice", DEFAULT_PRACTICE, &OPEN_IN_PRACTICE));
static PRICES: LazyLock<Defaults> =
    LazyLock::new(|| Defaults::of("prices", DEFAULT_PRICES, &OPEN_IN_PRICES));

/// Defaults with layers over them, as a table and as its type.
struct Laid<T> {
    table: Table,
    typed: T,
}

fn laid<T: DeserializeOwned>(
    defaults: &Defaults,
    layers: Vec<Layer>,
    out: &mut Vec<Finding>,
) -> Laid<T> {
    let mut table = defaults.table.clone();
    for layer in layers {
        let assignments = assign::assignments(defaults, &table, &layer, out);
        assign::apply::<T>(defaults, &mut table, assignments, out);
    }
    let typed = typed(defaults, &table);
    Laid {
        typed: typed.expect("a test reads the embedded defaults; each change was tried"),
        table,
    }
}

/// The table as its type, every leaf with its own path.
fn typed<T: DeserializeOwned>(defaults: &Defaults, table: &Table) -> Result<T, toml::de::Error> {
    let mut named = table.clone();
    leaf::name_leaves(&mut named, defaults.name);
    T::deserialize(toml::Value::Table(named))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_embedded_defaults_load_and_agree_with_each_other() {
        let mut findings = Vec::new();
        let local = Local::of(Vec::new(), Vec::new(), &mut findings);
        assert_eq!(findings, []);
        assert_eq!(local.practice.cover.main.path, "practice cover.main");
        assert_eq!(local.prices.labour.wage.path, "prices labour.wage");
        assert_eq!(local.settings["prices labour.wage"], "36.0");
        assert_eq!(local.settings["practice cover.main"], "18 in");
    }
}
