//! Two variants of a job side by side: what was asked differently, and what came of it.
//!
//! What always holds: a variant compared with itself differs in nothing; comparing the other way round gives
//! the same with before and after changed over.

mod inputs;
mod outcome;
mod ways;

pub use inputs::Stated;
pub use ways::Way;

use crate::Plan;
use job::{Job, Settings};
use price::CostGroup;
use quantity::{Amount, Money};
use working::Value;

/// A job as it was read, with its plan.
#[derive(Debug, Clone, Copy)]
pub struct Variant<'a> {
    /// The job.
    pub job: &'a Job,
    /// The rules and prices that hold for it, as they are written.
    pub settings: &'a Settings,
    /// Its plan.
    pub plan: &'a Plan,
}

/// Two variants side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// What the jobs say differently: by feature and property, then by rule and price.
    pub inputs: Vec<InputChange>,
    /// The cost lines of both, by group.
    pub lines: Vec<LinePair>,
    /// Cost, overhead, profit, price, taxes, price with tax.
    pub sums: Vec<Pair>,
    /// Days, labour, trench, water.
    pub figures: Vec<Pair>,
    /// Length of route by method.
    pub methods: Vec<Pair>,
    /// Length of pipe by family and size.
    pub pipes: Vec<Pair>,
    /// Machines hired, with their terms.
    pub machines: Vec<Pair>,
    /// Where only one of them has a trench.
    pub ways: Vec<Way>,
}

/// Something that the jobs say differently.
#[derive(Debug, Clone, PartialEq)]
pub struct InputChange {
    /// The feature's id, `job`, or a name such as `prices labour.wage`.
    pub subject: String,
    /// The property; empty if the feature is in one job only, or if the subject is a rule or price.
    pub field: String,
    /// In the first job.
    pub before: Option<Stated>,
    /// In the second.
    pub after: Option<Stated>,
}

/// A cost line of one or both.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LinePair {
    /// Its group.
    pub group: CostGroup,
    /// Its id.
    pub id: String,
    /// In words; those of both if they differ.
    pub what: [Option<String>; 2],
    /// The amounts; nothing where there is no such line.
    pub amounts: [Money; 2],
}

impl LinePair {
    /// Second less first.
    pub fn change(&self) -> Money {
        self.amounts[1] - self.amounts[0]
    }

    /// The words of the second, else of the first.
    pub fn words(&self) -> &str {
        let [first, second] = &self.what;
        second
            .as_ref()
            .or(first.as_ref())
            .map_or("", String::as_str)
    }
}

/// A figure of both.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// What it is.
    pub what: String,
    /// In the first plan; nothing if there is no such thing.
    pub before: Option<Value>,
    /// In the second.
    pub after: Option<Value>,
}

impl Pair {
    /// Whether they differ.
    pub fn differs(&self) -> bool {
        self.before != self.after
    }

    /// Second less first, if they are amounts of a kind; what is not there counts as nothing.
    pub fn change(&self) -> Option<Amount> {
        let number = |value: &Option<Value>| match value {
            Some(Value::Amount(amount)) => Some((amount.value, Some(amount.style))),
            Some(Value::Word(_)) => None,
            None => Some((0.0, None)),
        };
        let (before, after) = (number(&self.before)?, number(&self.after)?);
        let style = after.1.or(before.1)?;
        Some(Amount::new(after.0 - before.0, style))
    }
}

/// Compares two variants.
pub fn compare(before: Variant, after: Variant) -> Comparison {
    let both = [&before, &after];
    Comparison {
        inputs: inputs::changes(both),
        lines: outcome::lines(both),
        sums: outcome::pairs(both, outcome::sums),
        figures: outcome::pairs(both, outcome::figures),
        methods: outcome::pairs(both, outcome::methods),
        pipes: outcome::pairs(both, outcome::pipes),
        machines: outcome::pairs(both, outcome::machines),
        ways: ways::only_in_one(both),
    }
}

impl Comparison {
    /// Whether nothing differs.
    pub fn is_empty(&self) -> bool {
        let pairs = [
            &self.sums,
            &self.figures,
            &self.methods,
            &self.pipes,
            &self.machines,
        ];
        self.inputs.is_empty()
            && self.ways.is_empty()
            && pairs.iter().all(|pairs| !pairs.iter().any(Pair::differs))
            && self
                .lines
                .iter()
                .all(|line| line.what[0] == line.what[1] && line.change() == Money::ZERO)
    }

    /// The comparison the other way round.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let pairs = |pairs: &[Pair]| {
            let mirrored = pairs.iter().map(|pair| Pair {
                what: pair.what.clone(),
                before: pair.after.clone(),
                after: pair.before.clone(),
            });
            mirrored.collect()
        };
        let inputs = self.inputs.iter().map(|change| InputChange {
            before: change.after.clone(),
            after: change.before.clone(),
            ..change.clone()
        });
        let lines = self.lines.iter().cloned().map(|mut line| {
            line.what.reverse();
            line.amounts.reverse();
            line
        });
        let mut ways: Vec<Way> = self
            .ways
            .iter()
            .map(|way| Way {
                in_second: !way.in_second,
                ..way.clone()
            })
            .collect();
        ways::sort(&mut ways);
        Self {
            inputs: inputs.collect(),
            lines: lines.collect(),
            sums: pairs(&self.sums),
            figures: pairs(&self.figures),
            methods: pairs(&self.methods),
            pipes: pairs(&self.pipes),
            machines: pairs(&self.machines),
            ways,
        }
    }
}
