//! Where only one of two plans has a trench.

use super::Variant;
use job::Place;
use quantity::Length;
use routes::{NodeId, Stretch};
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

/// Trench that both plans have and put in by different methods.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherMethod {
    /// The methods of the first and of the second, in words.
    pub methods: [String; 2],
    /// The components that are nearest to its ends.
    pub between: [String; 2],
    /// How much of it there is.
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
                *lengths.entry(names.between(stretch)).or_default() += alone;
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

/// What of the trenches of both lies in one place and goes in by different methods. Of the two plans' names for
/// a place the first by the alphabet is told, and of their lengths the mean, so that neither comes first.
pub fn other_methods(both: [&Variant; 2]) -> Vec<OtherMethod> {
    let [first, second] = both.map(Dug::all);
    let mut lengths: BTreeMap<([String; 2], [&str; 2]), f64> = BTreeMap::new();
    for a in &first {
        for b in second
            .iter()
            .filter(|b| a.may_meet(b) && a.method != b.method)
        {
            let length = (shared(a, b) + shared(b, a)) / 2.0;
            if length > 0.0 {
                let between = a.between.clone().min(b.between.clone());
                *lengths.entry((between, [a.method, b.method])).or_default() += length;
            }
        }
    }
    let told = lengths.into_iter().filter(|(_, length)| *length > SHORT);
    let mut others: Vec<OtherMethod> = told
        .map(|((between, methods), length)| OtherMethod {
            methods: methods.map(str::to_owned),
            between,
            length: Length::m(length),
        })
        .collect();
    sort_methods(&mut others);
    others
}

/// By place, then by methods whichever comes first.
pub fn sort_methods(others: &mut [OtherMethod]) {
    others.sort_by_cached_key(|other| {
        let mut methods = other.methods.clone();
        methods.sort();
        (other.between.clone(), methods, other.methods.clone())
    });
}

/// A stretch with its method and its box.
struct Dug<'a> {
    stretch: &'a Stretch,
    method: &'a str,
    between: [String; 2],
    low: Place,
    high: Place,
}

impl<'a> Dug<'a> {
    fn all(variant: &'a Variant<'a>) -> Vec<Self> {
        let names = Names::of(variant);
        let digs = variant.plan.digging.digs.iter();
        digs.map(|dig| {
            let stretch = variant.plan.network.stretch(dig.stretch);
            let method = variant.job.prices.method.get(&dig.method);
            let end = |of: fn(f64, f64) -> f64, begin: f64| {
                let path = stretch.path.iter();
                path.fold(Place::new(begin, begin), |e, p| {
                    Place::new(of(e.x, p.x), of(e.y, p.y))
                })
            };
            Self {
                stretch,
                method: method.map_or(dig.method.0.as_str(), |method| &method.label),
                between: names.between(stretch),
                low: end(f64::min, f64::INFINITY),
                high: end(f64::max, f64::NEG_INFINITY),
            }
        })
        .collect()
    }

    fn may_meet(&self, other: &Self) -> bool {
        let apart = |low: f64, high: f64| low > high + SAME;
        !(apart(self.low.x, other.high.x)
            || apart(other.low.x, self.high.x)
            || apart(self.low.y, other.high.y)
            || apart(other.low.y, self.high.y))
    }
}

/// How much of one stretch lies beside another.
fn shared(a: &Dug, b: &Dug) -> f64 {
    let others: Vec<[Place; 2]> = parts(b.stretch).collect();
    let alone = parts(a.stretch).map(|part| (part, uncovered(part, &others)));
    alone
        .map(|([from, to], alone)| from.distance(to) - alone)
        .sum()
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
            .filter_map(|node| Some((node.what.component()?, node.at)))
            .collect();
        components.sort_by(|a, b| a.0.cmp(b.0));
        Self {
            variant,
            components,
        }
    }

    /// What is nearest to the ends of a stretch, by the alphabet.
    fn between(&self, stretch: &Stretch) -> [String; 2] {
        let mut between = [self.nearest(stretch.from), self.nearest(stretch.to)];
        between.sort();
        between
    }

    /// The component at a node, else the nearest to it.
    fn nearest(&self, node: NodeId) -> String {
        let node = self.variant.plan.network.node(node);
        if let Some(name) = node.what.component() {
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
