//! Kinds of fittings, the turns that take them, and their lines of the list.

use crate::ItemGroup;
use crate::bill::{Bill, Entry, order_of, slug};
use job::{Job, Sourced};
use quantity::{Amount, Money, Ratio, Style};
use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;
use working::Working;

/// What kind of fitting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Tee,
    ThreadedTee,
    Elbow90,
    ThreadedElbow,
    Elbow45,
    Reducer,
    Coupling,
    Adapter,
    Union,
    Cap,
}

impl Kind {
    /// Sockets for pipe, or what else pipe is joined by.
    pub fn sockets(self) -> usize {
        match self {
            Self::Tee => 3,
            Self::ThreadedTee | Self::Elbow90 | Self::Elbow45 | Self::Reducer | Self::Coupling => 2,
            Self::ThreadedElbow | Self::Adapter | Self::Union | Self::Cap => 1,
        }
    }

    fn key(self) -> &'static str {
        match self {
            Self::Tee => "tee",
            Self::ThreadedTee => "threaded-tee",
            Self::Elbow90 => "elbow-90",
            Self::ThreadedElbow => "threaded-elbow",
            Self::Elbow45 => "elbow-45",
            Self::Reducer => "reducer",
            Self::Coupling => "coupling",
            Self::Adapter => "adapter",
            Self::Union => "union",
            Self::Cap => "cap",
        }
    }

    fn label(self) -> &'static str {
        match self {
            Self::Tee => "tee",
            Self::ThreadedTee => "tee with threaded branch",
            Self::Elbow90 => "elbow 90°",
            Self::ThreadedElbow => "elbow 90° with a thread",
            Self::Elbow45 => "elbow 45°",
            Self::Reducer => "reducer",
            Self::Coupling => "coupling",
            Self::Adapter => "adapter to thread",
            Self::Union => "union to thread",
            Self::Cap => "cap",
        }
    }

    fn formula(self) -> &'static str {
        match self {
            Self::Tee => {
                "one for each way beyond two at every node of a pipe line; a valve on the line is a way"
            }
            Self::ThreadedTee => "one for each head or drip feed along a line",
            Self::Elbow90 => {
                "one for each turn near 90°, at nodes, at bends and where a branch leaves its tee off square"
            }
            Self::ThreadedElbow => "one turned up for each head or drip feed at the end of a line",
            Self::Elbow45 => {
                "one for each turn near 45°, at nodes, at bends and where a branch leaves its tee off square"
            }
            Self::Reducer => "one for each way at a node that is smaller than the largest there",
            Self::Coupling => "one for each join in a piece longer than a stick or coil",
            Self::Adapter => {
                "one where pipe meets a valve, the backflow assembly or the source, less the unions there"
            }
            Self::Union => "unions at each valve and at the backflow assembly",
            Self::Cap => "one for each end that feeds nothing",
        }
    }

    fn price(self, job: &Job) -> &Sourced<Money> {
        let prices = &job.prices.fitting;
        match self {
            Self::Tee => &prices.tee,
            Self::ThreadedTee => &prices.threaded_tee,
            Self::Elbow90 | Self::Elbow45 => &prices.elbow,
            Self::ThreadedElbow => &prices.threaded_elbow,
            Self::Reducer => &prices.reducer,
            Self::Coupling => &prices.coupling,
            Self::Adapter => &prices.adapter,
            Self::Union => &prices.union,
            Self::Cap => &prices.cap,
        }
    }
}

/// A fitting of a family by the places of its sizes in the family.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fitting {
    pub family: String,
    pub kind: Kind,
    /// The larger size.
    pub rank: usize,
    /// The smaller size of a reducer; else as `rank`.
    pub to: usize,
}

/// How many of each fitting.
pub type Counts = BTreeMap<Fitting, usize>;

/// Turns from which elbows are taken, radians.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    from: f64,
    square_from: f64,
}

impl Limits {
    pub fn of(job: &Job) -> Self {
        Self {
            from: job.practice.takeoff.elbow_from.value.to_rad(),
            square_from: job.practice.takeoff.elbow_90_from.value.to_rad(),
        }
    }

    #[cfg(test)]
    pub fn for_tests() -> Self {
        use std::f64::consts::PI;
        Self {
            from: PI / 8.0,
            square_from: 3.0 * PI / 8.0,
        }
    }

    /// The smallest turn that takes one.
    pub fn from(self) -> f64 {
        self.from
    }

    /// The elbows that a turn takes.
    pub fn elbows(self, turn: f64) -> Vec<Kind> {
        if turn < self.from {
            Vec::new()
        } else if turn < self.square_from {
            vec![Kind::Elbow45]
        } else {
            let mut kinds = vec![Kind::Elbow90];
            if turn - FRAC_PI_2 >= self.from.max(f64::EPSILON) {
                kinds.extend(self.elbows(turn - FRAC_PI_2));
            }
            kinds
        }
    }
}

/// Sockets by family and place of the size in it.
pub fn sockets(counts: &Counts) -> BTreeMap<(String, usize), usize> {
    let mut sockets = BTreeMap::new();
    for (fitting, count) in counts {
        let mut add = |rank: usize, each: usize| {
            *sockets.entry((fitting.family.clone(), rank)).or_default() += each * count;
        };
        match fitting.kind {
            Kind::Reducer => {
                add(fitting.rank, 1);
                add(fitting.to, 1);
            }
            kind => add(fitting.rank, kind.sockets()),
        }
    }
    sockets
}

/// Puts all fittings on the list.
pub fn add(job: &Job, counts: &Counts, bill: &mut Bill) {
    for (fitting, count) in counts {
        add_one(job, fitting, *count, bill);
    }
}

fn add_one(job: &Job, fitting: &Fitting, count: usize, bill: &mut Bill) {
    let (price, per_size) = (fitting.kind.price(job), &job.prices.fitting.per_size);
    let share = &job.practice.takeoff.waste.fittings;
    let unit = price
        .value
        .times(1.0 + per_size.value.to_one() * fitting.rank as f64);
    let (label, sizes) = names(job, fitting);
    let what = format!("{} {sizes}, {label}", fitting.kind.label());
    let spare = (count as f64 * share.value.to_one()).round() as usize;
    let ordered = count + spare;
    let working = order_of(
        &what,
        format!(
            "{}; spare ones = count × waste, to the nearest; cost = order × price of one",
            fitting.kind.formula()
        ),
    )
    .with(
        "count",
        Amount::count(count),
        "nodes and bends of the pipe lines",
    )
    .with("waste", percent(share), share.origin())
    .with(
        "price of the smallest size",
        price.value.amount(),
        price.origin(),
    )
    .with(
        "share for each size above",
        percent(per_size),
        per_size.origin(),
    )
    .with(
        "sizes above the smallest",
        Amount::count(fitting.rank),
        "order of sizes in the family",
    )
    .with("price of one", unit.amount(), "price × (1 + share × sizes)");
    bill.add(Entry {
        id: format!(
            "fitting.{}.{}.{}",
            fitting.family,
            fitting.kind.key(),
            slug(&sizes)
        ),
        group: ItemGroup::Fitting,
        net: Amount::count(count),
        needed: Amount::count(ordered),
        ordered: ordered as f64,
        order: Amount::count(ordered),
        sold_as: String::new(),
        unit,
        units: ordered as f64,
        working: with_rules(job, fitting, working),
        what,
    });
}

fn with_rules(job: &Job, fitting: &Fitting, working: Working) -> Working {
    let rules = &job.practice.takeoff;
    let unions = |working: Working| {
        let (valve, backflow) = (&rules.unions_at_valve, &rules.unions_at_backflow);
        let count = |n: u32| Amount::count(n as usize);
        working
            .with("unions at a valve", count(valve.value), valve.origin())
            .with(
                "unions at the assembly",
                count(backflow.value),
                backflow.origin(),
            )
            .approximately(
                "threads of valves and of the assembly are taken to be of the pipe's size",
            )
    };
    let rule = match fitting.kind {
        Kind::Elbow45 => &rules.elbow_from,
        Kind::Elbow90 => &rules.elbow_90_from,
        Kind::Adapter | Kind::Union => return unions(working),
        _ => return working,
    };
    let working = working.with(
        "smallest turn that takes it",
        rule.value.amount(),
        rule.origin(),
    );
    let family = job.practice.pipe.get(&fitting.family);
    match family.is_some_and(|f| f.material == job::practice::PipeMaterial::Pe) {
        false => working,
        true => {
            let (corner, fitted) = (&rules.corner_cut, &job.practice.pull.bend_with_fitting);
            working
                .with(
                    "farthest from the corner",
                    corner.value.small(),
                    corner.origin(),
                )
                .with(
                    "least radius with a fitting in the bend, of the outside diameter",
                    Amount::ratio(fitted.value.to_one()),
                    fitted.origin(),
                )
                .with(
                    "turns laid in bends",
                    "as there",
                    format!("figures bends.{}.*", fitting.family),
                )
        }
    }
}

pub fn percent(share: &Sourced<Ratio>) -> Amount {
    Amount::new(share.value.to_one(), Style::Percent)
}

/// The family's label and the size or sizes.
fn names(job: &Job, fitting: &Fitting) -> (String, String) {
    let family = job.practice.pipe.get(&fitting.family);
    let size = |rank: usize| {
        family
            .and_then(|f| f.sizes.get(rank))
            .map_or_else(String::new, |s| s.name.clone())
    };
    let sizes = match fitting.kind {
        Kind::Reducer => format!("{} x {}", size(fitting.rank), size(fitting.to)),
        _ => size(fitting.rank),
    };
    let label = family.map_or_else(|| fitting.family.clone(), |f| f.label.clone());
    (label, sizes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns_take_the_elbow_nearest_to_them() {
        let elbows = |degrees: f64| Limits::for_tests().elbows(degrees.to_radians());
        assert_eq!(elbows(20.0), []);
        assert_eq!(elbows(30.0), [Kind::Elbow45]);
        assert_eq!(elbows(80.0), [Kind::Elbow90]);
        assert_eq!(elbows(110.0), [Kind::Elbow90]);
        assert_eq!(elbows(135.0), [Kind::Elbow90, Kind::Elbow45]);
        assert_eq!(elbows(180.0), [Kind::Elbow90, Kind::Elbow90]);
    }
}
