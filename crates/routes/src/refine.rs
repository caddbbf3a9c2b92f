//! Better places for junctions and straighter ways, proposed from a solution.

use crate::candidates::{CLOSE_TO_SITE, length};
use crate::fermat;
use crate::refract;
use crate::roadmap::{RoadEdge, Roadmap};
use geo::Coord;
use std::collections::BTreeMap;

/// Straight ways are tried over at most this many places of a chain.
const LONGEST_SHORTCUT: usize = 24;
/// A new junction is not tried nearer than this to an old one, in metres.
const LEAST_MOVE: f64 = 0.02;

/// The edges that a solution uses, with what each metre of it costs: digging once, and each line.
pub type Used = BTreeMap<u32, f64>;

/// Adds junctions and straight ways to the graph that might make the solution cheaper. Gives the number
/// of edges added.
pub fn propose(map: &mut Roadmap<'_>, used: &Used) -> usize {
    let before = map.edges.len();
    let beside = adjacency(map, used);
    let chains = chains(map, &beside);
    let straight = shortcuts(&chains);
    map.add_edges(straight);
    for edge in used.keys() {
        let RoadEdge { a, b, .. } = map.edges[*edge as usize];
        for place in refract::bends(map, *edge) {
            if !map.is_close_to_site(place, CLOSE_TO_SITE) {
                let new = map.add_node(place);
                map.add_edges(vec![(a, new), (new, b)]);
            }
        }
    }
    for (node, links) in &beside {
        let at = map.nodes[*node as usize];
        for (place, ends) in junctions(map, *node, at, links) {
            let new = map.add_node(place);
            let mut pairs: Vec<(u32, u32)> = ends.iter().map(|end| (new, *end)).collect();
            pairs.push((new, *node));
            map.add_edges(pairs);
        }
    }
    map.edges.len() - before
}

type Links = Vec<(u32, f64)>;

fn adjacency(map: &Roadmap<'_>, used: &Used) -> BTreeMap<u32, Links> {
    let mut beside: BTreeMap<u32, Links> = BTreeMap::new();
    for (edge, weight) in used {
        let e = &map.edges[*edge as usize];
        if e.sleeve.is_none() {
            beside.entry(e.a).or_default().push((e.b, *weight));
            beside.entry(e.b).or_default().push((e.a, *weight));
        }
    }
    beside
}

/// Chains of nodes between components, junctions and sleeve ends.
fn chains(map: &Roadmap<'_>, beside: &BTreeMap<u32, Links>) -> Vec<Vec<u32>> {
    let key = |node: u32| map.is_site(node) || beside[&node].len() != 2;
    let mut chains = Vec::new();
    for start in beside.keys().copied().filter(|n| key(*n)) {
        for (next, _) in &beside[&start] {
            let mut chain = vec![start, *next];
            while !key(chain[chain.len() - 1]) {
                let (here, before) = (chain[chain.len() - 1], chain[chain.len() - 2]);
                let Some((on, _)) = beside[&here].iter().find(|(n, _)| *n != before) else {
                    break;
                };
                chain.push(*on);
            }
            if chain[0] < chain[chain.len() - 1] {
                chains.push(chain);
            }
        }
    }
    chains
}

fn shortcuts(chains: &[Vec<u32>]) -> Vec<(u32, u32)> {
    let mut pairs = Vec::new();
    for chain in chains {
        for i in 0..chain.len() {
            let last = (i + LONGEST_SHORTCUT).min(chain.len() - 1);
            pairs.extend((i + 2..=last).map(|j| (chain[i], chain[j])));
        }
    }
    pairs
}

/// Places where the ways at a node might better meet: of all of them, of each pair with the node
/// itself, and, at a bend, of both with the node.
fn junctions(map: &Roadmap<'_>, node: u32, at: Coord, links: &Links) -> Vec<(Coord, Vec<u32>)> {
    let place = |end: u32| map.nodes[end as usize];
    let mut found = Vec::new();
    let mut offer = |ends: &[(u32, f64)], with_node: Option<f64>| {
        let mut places: Vec<(Coord, f64)> = ends.iter().map(|(e, w)| (place(*e), *w)).collect();
        places.extend(with_node.map(|weight| (at, weight)));
        if let Some(better) = fermat::junction(&places)
            && length(better - at) > LEAST_MOVE
            && !map.is_close_to_site(better, CLOSE_TO_SITE)
        {
            found.push((better, ends.iter().map(|(e, _)| *e).collect()));
        }
    };
    if !map.is_site(node) && links.len() > 2 {
        offer(links, None);
    }
    for i in 0..links.len() {
        for j in i + 1..links.len() {
            let pair = [links[i], links[j]];
            offer(&pair, Some(links[i].1.max(links[j].1)));
        }
    }
    found
}
