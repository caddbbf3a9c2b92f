//! Fittings from the geometry: what each node and each bend of a pipe line takes.
//!
//! ```text
//!  run turns by α        tee with run a–b            head on the line: a tee for its riser,
//!     ______ α            a ────┬──── b              at the end of the line an elbow turned up
//!    /                          │ c, off square by β
//! ```
//!
//! A node with more than three ways takes several tees. Of the three ways of a tee those two are the
//! run that leave the fewest elbows to make up for the angles.

use crate::ItemGroup;
use crate::bill::{Bill, Entry, order_of, slug};
use crate::tree::{Direction, Reach, Tree, angle};
use job::{Job, Sourced};
use quantity::{Amount, Money, Ratio, Style};
use routes::NodeId;
use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_2, PI};

/// What kind of fitting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    Tee,
    Elbow90,
    Elbow45,
    Reducer,
    Coupling,
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

/// The fittings at a node of a line.
pub fn at_node(tree: &Tree, node: NodeId, limits: Limits) -> Vec<Fitting> {
    let fed_by = tree.into(node);
    let outs: Vec<&Reach> = tree.out_of(node).collect();
    let terminal = tree.line.terminals.contains(&node);
    let ways: Vec<&Reach> = fed_by.into_iter().chain(outs.iter().copied()).collect();
    let Some(rank) = ways.iter().map(|way| way.rank).max() else {
        return Vec::new();
    };
    let family = &ways[0].pipe.family;
    let fitting = |kind, to| Fitting {
        family: family.clone(),
        kind,
        rank,
        to,
    };
    let kinds = match fed_by {
        // Where the root's feed comes from is the component's matter: no angle to it is known.
        None => vec![Kind::Tee; outs.len().saturating_sub(1)],
        Some(fed_by) => fed_node(fed_by, &outs, terminal, risers(tree), limits),
    };
    let reducers = ways.iter().filter(|way| way.rank < rank);
    kinds
        .into_iter()
        .map(|kind| fitting(kind, rank))
        .chain(reducers.map(|way| fitting(Kind::Reducer, way.rank)))
        .collect()
}

/// Whether the line's terminals stand above it on risers, as heads do.
fn risers(tree: &Tree) -> bool {
    !crate::always_under_pressure(&tree.line.kind)
}

fn fed_node(
    fed_by: &Reach,
    outs: &[&Reach],
    terminal: bool,
    risers: bool,
    limits: Limits,
) -> Vec<Kind> {
    let back = fed_by.looks_back();
    let away: Vec<Direction> = outs.iter().filter_map(|out| out.sets_out()).collect();
    let mut kinds = match (back, away.as_slice()) {
        (_, []) if terminal && risers => vec![Kind::Elbow90],
        (Some(back), [one]) => limits.elbows(PI - angle(back, *one)),
        (Some(back), [one, two]) => tee([back, *one, *two], limits),
        (Some(back), many) => several_tees(back, many, limits),
        (None, many) => vec![Kind::Tee; many.len().saturating_sub(1)],
    };
    if terminal && !outs.is_empty() {
        kinds.push(Kind::Tee);
    }
    kinds
}

/// One tee with the elbows that make up for its angles, in the position that takes the fewest.
fn tee(ways: [Direction; 3], limits: Limits) -> Vec<Kind> {
    let positions = [(0, 1, 2), (0, 2, 1), (1, 2, 0)];
    let best = positions
        .into_iter()
        .map(|(a, b, c)| {
            let turn = PI - angle(ways[a], ways[b]);
            let off_square = (FRAC_PI_2 - angle(ways[a], ways[c])).abs();
            let mut elbows = limits.elbows(turn);
            elbows.extend(limits.elbows(off_square));
            (elbows, turn + off_square)
        })
        .min_by(|(a, x), (b, y)| a.len().cmp(&b.len()).then(x.total_cmp(y)));
    let mut kinds = vec![Kind::Tee];
    kinds.extend(best.into_iter().flat_map(|(elbows, _)| elbows));
    kinds
}

/// More than three ways: the straightest way on is the run, every other one leaves by a tee of its own.
fn several_tees(back: Direction, away: &[Direction], limits: Limits) -> Vec<Kind> {
    let turns: Vec<f64> = away.iter().map(|way| PI - angle(back, *way)).collect();
    let Some(run) = (0..turns.len()).min_by(|a, b| turns[*a].total_cmp(&turns[*b])) else {
        return Vec::new();
    };
    let mut kinds = limits.elbows(turns[run]);
    for (index, turn) in turns.iter().enumerate() {
        if index != run {
            kinds.push(Kind::Tee);
            kinds.extend(limits.elbows((FRAC_PI_2 - turn).abs()));
        }
    }
    kinds
}

/// The elbows at bends along a reach.
pub fn along<'t>(reach: &'t Reach, limits: Limits) -> impl Iterator<Item = Fitting> + 't {
    reach.turns().into_iter().flat_map(move |(_, turn)| {
        limits.elbows(turn).into_iter().map(|kind| Fitting {
            family: reach.pipe.family.clone(),
            kind,
            rank: reach.rank,
            to: reach.rank,
        })
    })
}

/// Counts all fittings and puts them on the list.
pub fn add(job: &Job, trees: &[Tree], couplings: Vec<(Fitting, usize)>, bill: &mut Bill) {
    let limits = Limits::of(job);
    let mut counts: BTreeMap<Fitting, usize> = couplings.into_iter().collect();
    for tree in trees {
        let at_nodes = tree.nodes().flat_map(|node| at_node(tree, node, limits));
        let at_bends = tree.reaches.iter().flat_map(|reach| along(reach, limits));
        for fitting in at_nodes.chain(at_bends) {
            *counts.entry(fitting).or_default() += 1;
        }
    }
    for (fitting, count) in counts {
        add_one(job, &fitting, count, bill);
    }
}

fn add_one(job: &Job, fitting: &Fitting, count: usize, bill: &mut Bill) {
    let (price, per_size) = (price_of(job, fitting.kind), &job.prices.fitting.per_size);
    let unit = price
        .value
        .times(1.0 + per_size.value.to_one() * fitting.rank as f64);
    let (label, sizes) = names(job, fitting);
    let what = format!("{} {sizes}, {label}", kind_name(fitting.kind));
    let n = Amount::count(count);
    let working = order_of(&what, formula(fitting.kind))
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
            kind_name(fitting.kind)
                .trim_end_matches('°')
                .replace(' ', "-"),
            slug(&sizes)
        ),
        group: ItemGroup::Fitting,
        needed: n,
        order: n,
        sold_as: String::new(),
        unit,
        units: count as f64,
        working: with_limits(job, fitting.kind, working),
        what,
    });
}

fn with_limits(job: &Job, kind: Kind, working: working::Working) -> working::Working {
    let rules = &job.practice.takeoff;
    let rule = match kind {
        Kind::Elbow45 => &rules.elbow_from,
        Kind::Elbow90 => &rules.elbow_90_from,
        Kind::Tee | Kind::Reducer | Kind::Coupling => return working,
    };
    working
        .with("smallest turn that takes it", rule.value.amount(), rule.origin())
        .approximately(
            "rigid pipe and polyethylene are counted alike; polyethylene laid in a wide bend needs fewer",
        )
}

fn percent(share: &Sourced<Ratio>) -> Amount {
    Amount::new(share.value.to_one(), Style::Percent)
}

fn price_of(job: &Job, kind: Kind) -> &Sourced<Money> {
    let prices = &job.prices.fitting;
    match kind {
        Kind::Tee => &prices.tee,
        Kind::Elbow90 | Kind::Elbow45 => &prices.elbow,
        Kind::Reducer => &prices.reducer,
        Kind::Coupling => &prices.coupling,
    }
}

fn kind_name(kind: Kind) -> &'static str {
    match kind {
        Kind::Tee => "tee",
        Kind::Elbow90 => "elbow 90°",
        Kind::Elbow45 => "elbow 45°",
        Kind::Reducer => "reducer",
        Kind::Coupling => "coupling",
    }
}

fn formula(kind: Kind) -> &'static str {
    match kind {
        Kind::Tee => {
            "one for each way beyond two at every node of a pipe line; a head or valve on the line is a way"
        }
        Kind::Elbow90 => {
            "one for each turn near 90°, at nodes, at bends and where a branch leaves its tee off square; \
             one turned up under a head at the end of a line"
        }
        Kind::Elbow45 => {
            "one for each turn near 45°, at nodes, at bends and where a branch leaves its tee off square"
        }
        Kind::Reducer => "one for each way at a node that is smaller than the largest there",
        Kind::Coupling => "one for each join in a piece longer than a stick or coil",
    }
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

    const LIMITS: Limits = Limits {
        from: PI / 8.0,
        square_from: 3.0 * PI / 8.0,
    };

    fn toward(degrees: f64) -> Direction {
        let (y, x) = degrees.to_radians().sin_cos();
        (x, y)
    }

    #[test]
    fn turns_take_the_elbow_nearest_to_them() {
        let elbows = |degrees: f64| LIMITS.elbows(degrees.to_radians());
        assert_eq!(elbows(20.0), []);
        assert_eq!(elbows(30.0), [Kind::Elbow45]);
        assert_eq!(elbows(80.0), [Kind::Elbow90]);
        assert_eq!(elbows(110.0), [Kind::Elbow90]);
        assert_eq!(elbows(135.0), [Kind::Elbow90, Kind::Elbow45]);
        assert_eq!(elbows(180.0), [Kind::Elbow90, Kind::Elbow90]);
    }

    #[test]
    fn a_square_branch_takes_a_tee_and_nothing_else() {
        let ways = [toward(180.0), toward(0.0), toward(90.0)];
        assert_eq!(tee(ways, LIMITS), [Kind::Tee]);
    }

    #[test]
    fn a_run_that_parts_to_both_sides_takes_the_tee_by_its_branch() {
        let ways = [toward(180.0), toward(90.0), toward(-90.0)];
        assert_eq!(tee(ways, LIMITS), [Kind::Tee]);
    }

    #[test]
    fn three_ways_at_equal_angles_take_two_elbows_beside_the_tee() {
        let ways = [toward(180.0), toward(60.0), toward(-60.0)];
        let kinds = tee(ways, LIMITS);
        assert_eq!(kinds[0], Kind::Tee);
        assert_eq!(kinds.len(), 3);
    }

    #[test]
    fn a_cross_takes_two_tees() {
        let away = [toward(0.0), toward(90.0), toward(-90.0)];
        assert_eq!(
            several_tees(toward(180.0), &away, LIMITS),
            [Kind::Tee, Kind::Tee]
        );
    }
}
