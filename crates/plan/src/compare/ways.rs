//! Where only one of two plans has a trench.

use super::Variant;
use job::Place;
use quantity::Length;
use routes::{NodeId, NodeKind, Stretch};
use std::collections::BTreeMap;

/// Trench that only one of the plans has.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Whether the second has it, not the first.
    pub in_second: bool,
    /// The components that are nearest to its ends, such as `V1` and `H3`.
    pub between: [String; 2],
    /// How much of it only this plan has.
    pub length: Length,
}

/// Trenches nearer to each other than this lie in one place, in metres.
const SAME: f64 = 0.05;

/// Shorter pieces are not told, in metres.
const SHORT: f64 = 0.3;

/// What of each plan's trenches lies where the other has none.
pub fn only_in_one(both: [&Variant; 2]) -> Vec<Way> {
    let mut ways = Vec::new();
    for (in_second, [here, there]) in [(false, both), (true, [both[1], both[0]])] {
        let others: Vec<[Place; 2]> = there
            .plan
            .network
            .stretches
            .iter()
            .flat_map(parts)
            .collect();
        let names = Names::of(here);
        let mut lengths: BTreeMap<[String; 2], f64> = BTreeMap::new();
        for stretch in &here.plan.network.stretches {
            let alone: f64 = parts(stretch).map(|part| uncovered(part, &others)).sum();
            if alone > 0.0 {
                let mut between = [names.nearest(stretch.from), names.nearest(stretch.to)];
                between.sort();
                *lengths.entry(between).or_default() += alone;
            }
        }
        let told = lengths.into_iter().filter(|(_, length)| *length > SHORT);
        ways.extend(told.map(|(between, length)| Way {
            in_second,
            between,
            length: Length::m(length),
        }));
    }
    sort(&mut ways);
    ways
}

/// Those of the first plan come first, each by name.
pub fn sort(ways: &mut [Way]) {
    ways.sort_by(|a, b| {
        let by_name = |way: &Way| (way.in_second, way.between.clone());
        by_name(a).cmp(&by_name(b))
    });
}

fn parts(stretch: &Stretch) -> impl Iterator<Item = [Place; 2]> + '_ {
    stretch.path.windows(2).map(|ends| [ends[0], ends[1]])
}

/// The length of a straight part beside which no other lies.
fn uncovered([from, to]: [Place; 2], others: &[[Place; 2]]) -> f64 {
    let length = from.distance(to);
    if length <= 0.0 {
        return 0.0;
    }
    let along = |place: Place| {
        let (dx, dy) = (place.x - from.x, place.y - from.y);
        let (ux, uy) = ((to.x - from.x) / length, (to.y - from.y) / length);
        (dx * ux + dy * uy, (dx * uy - dy * ux).abs())
    };
    let mut covered: Vec<(f64, f64)> = others
        .iter()
        .filter_map(|&[a, b]| beside(along(a), along(b), length))
        .collect();
    covered.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut alone = 0.0;
    let mut reached = 0.0;
    for (begins, ends) in covered {
        alone += f64::max(begins - reached, 0.0);
        reached = f64::max(reached, ends);
    }
    alone + f64::max(length - reached, 0.0)
}

/// From where to where another part, given by how far along and how far off its ends are, lies beside one
/// of this length.
fn beside(a: (f64, f64), b: (f64, f64), length: f64) -> Option<(f64, f64)> {
    let (first, last) = if a.0 <= b.0 { (a, b) } else { (b, a) };
    if first.1.max(last.1) <= SAME {
        let (begins, ends) = (first.0 - SAME, last.0 + SAME);
        return (ends > 0.0 && begins < length).then(|| (begins.max(0.0), ends.min(length)));
    }
    None
}

/// Components by their places.
struct Names<'a> {
    variant: &'a Variant<'a>,
    components: Vec<(&'a str, Place)>,
}

impl<'a> Names<'a> {
    fn of(variant: &'a Variant<'a>) -> Self {
        let nodes = variant.plan.network.nodes.iter();
        let mut components: Vec<(&str, Place)> = nodes
            .filter_map(|node| Some((component(&node.what)?, node.at)))
            .collect();
        components.sort_by(|a, b| a.0.cmp(b.0));
        Self {
            variant,
            components,
        }
    }

    /// The component at a node, else the nearest to it.
    fn nearest(&self, node: NodeId) -> String {
        let node = self.variant.plan.network.node(node);
        if let Some(name) = component(&node.what) {
            return name.to_owned();
        }
        let distance = |of: &&(&str, Place)| of.1.distance(node.at);
        let nearest = self
            .components
            .iter()
            .min_by(|a, b| distance(a).total_cmp(&distance(b)));
        nearest.map_or(String::new(), |(name, _)| format!("near {name}"))
    }
}

fn component(what: &NodeKind) -> Option<&str> {
    match what {
        NodeKind::Source(id)
        | NodeKind::Backflow(id)
        | NodeKind::Controller(id)
        | NodeKind::Valve(id)
        | NodeKind::Outlet(id)
        | NodeKind::CableEnd(id) => Some(id),
        NodeKind::Junction | NodeKind::Change => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(x: f64, y: f64) -> Place {
        Place::new(x, y)
    }

    #[test]
    fn what_lies_beside_another_is_not_alone() {
        let part = [place(0.0, 0.0), place(10.0, 0.0)];
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
        assert!(near(uncovered(part, &[]), 10.0));
        assert!(near(uncovered(part, &[part]), 0.0));
        let back = [place(10.0, 0.0), place(0.0, 0.0)];
        assert!(near(uncovered(part, &[back]), 0.0));
        let half = [place(5.0, 0.01), place(20.0, 0.01)];
        assert!(near(uncovered(part, &[half]), 5.0 - SAME));
        let across = [place(5.0, -5.0), place(5.0, 5.0)];
        assert!(near(uncovered(part, &[across]), 10.0));
        let beside = [place(0.0, 0.5), place(10.0, 0.5)];
        assert!(near(uncovered(part, &[beside]), 10.0));
        let pieces = [
            [place(0.0, 0.0), place(4.0, 0.0)],
            [place(3.0, 0.0), place(10.0, 0.0)],
        ];
        assert!(near(uncovered(part, &pieces), 0.0));
    }
}
