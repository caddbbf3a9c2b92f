//! What is put into the candidate graph: corners, places along borders, and junctions of few places.

use super::exact::{cross, dot, far};
use super::graph::Graph;
use super::net::Net;
use super::{Hold, Plane, junction_of, settle, tidy};
use crate::mesh;
use geo::Coord;
use std::collections::{BTreeMap, BTreeSet};

/// Up to this many anchors, all triples are tried for a junction; else only neighbours.
const ALL_TRIPLES: usize = 48;
/// A border has places this far apart, as a share of the terminals' extent.
const BORDER_STEP: f64 = 1.0 / 50.0;
/// No border has more places than this.
const BORDER_MOST: usize = 40;
/// So many places near a part of a tree are tried for a new joint on it.
const NEAR_PART: usize = 6;

/// The graph before any tree is known.
pub(crate) fn base<'p>(plane: &'p Plane, terminals: &[Coord]) -> Graph<'p> {
    let mut graph = Graph::new(plane, terminals);
    let mut anchors: Vec<u32> = (0..terminals.len() as u32).collect();
    for corner in plane.ways().corners() {
        anchors.push(graph.place_corner(*corner));
    }
    anchors.sort_unstable();
    anchors.dedup();
    border_places(&mut graph, &anchors);
    for a in 0..graph.at.len() as u32 {
        for b in a + 1..graph.at.len() as u32 {
            graph.join(a, b);
        }
    }
    let only_terminals: Vec<u32> = (0..terminals.len() as u32).collect();
    junctions(&mut graph, &only_terminals);
    if anchors.len() > only_terminals.len() {
        junctions(&mut graph, &anchors);
    }
    graph
}

/// Corners of surfaces, and places along their sides: evenly spaced, and the feet of the anchors.
fn border_places(graph: &mut Graph<'_>, anchors: &[u32]) {
    let plane = graph.plane;
    let first = graph.at.first().copied().unwrap_or_default();
    let reach = graph.at.iter().map(|p| far(*p, first)).fold(0.0, f64::max);
    let step = reach * BORDER_STEP;
    let borders: Vec<(Coord, Coord)> = plane.borders().collect();
    for (u, v) in borders {
        let long = far(u, v);
        if long <= 0.0 || step <= 0.0 {
            continue;
        }
        let along = (v - u) / long;
        let count = ((long / step).ceil() as usize).clamp(1, BORDER_MOST);
        let mut offs: Vec<f64> = (0..=count)
            .map(|i| long * i as f64 / count as f64)
            .collect();
        for anchor in anchors {
            let to = graph.at[*anchor as usize] - u;
            let off = dot(to, along);
            if cross(along, to).abs() < 6.0 * step && off > 0.0 && off < long {
                offs.push(off);
            }
        }
        offs.sort_by(f64::total_cmp);
        offs.dedup_by(|a, b| (*a - *b).abs() < 0.05 * step);
        for off in offs {
            let at = if off >= long { v } else { u + along * off };
            if plane.walls().holds(at) && differs_at(plane, at, along, off, long) {
                graph.place(at, Hold::Along(u, v));
            }
        }
    }
}

/// Whether the cost differs between the two sides of a border; an end of it is always taken.
fn differs_at(plane: &Plane, at: Coord, along: Coord, off: f64, long: f64) -> bool {
    let normal = Coord {
        x: -along.y,
        y: along.x,
    };
    let aside = 1e-6 * long;
    let unit = |side: f64| plane.unit_at(at + normal * (side * aside));
    off <= 0.0 || off >= long || (unit(1.0) - unit(-1.0)).abs() > 0.0
}

/// Junctions of three and of four anchors that lie near each other.
fn junctions(graph: &mut Graph<'_>, anchors: &[u32]) {
    let places: Vec<Coord> = anchors.iter().map(|a| graph.at[*a as usize]).collect();
    let triangles = mesh::triangles(&places);
    let triples = if places.len() <= ALL_TRIPLES {
        all_triples(places.len())
    } else {
        near_triples(&places)
    };
    for [a, b, c] in triples {
        star(graph, [anchors[a], anchors[b], anchors[c]]);
    }
    for [a, b, c, d] in quads(&triangles) {
        let [a, b, c, d] = [a, b, c, d].map(|i| anchors[i]);
        two_stars(graph, [a, b], [c, d]);
        two_stars(graph, [b, c], [d, a]);
    }
}

fn all_triples(count: usize) -> Vec<[usize; 3]> {
    let mut triples = Vec::new();
    for a in 0..count {
        for b in a + 1..count {
            triples.extend((b + 1..count).map(|c| [a, b, c]));
        }
    }
    triples
}

/// Triples of which one is a neighbour of both others.
fn near_triples(places: &[Coord]) -> Vec<[usize; 3]> {
    let mut beside: Vec<Vec<usize>> = vec![Vec::new(); places.len()];
    for (a, b) in mesh::neighbours(places, 1) {
        beside[a].push(b);
        beside[b].push(a);
    }
    let mut triples = BTreeSet::new();
    for (middle, list) in beside.iter().enumerate() {
        for (i, a) in list.iter().enumerate() {
            for b in &list[i + 1..] {
                let mut triple = [middle, *a, *b];
                triple.sort_unstable();
                triples.insert(triple);
            }
        }
    }
    triples.into_iter().collect()
}

/// Pairs of triangles with a common side, as four places in turn.
fn quads(triangles: &[[usize; 3]]) -> Vec<[usize; 4]> {
    let mut open: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    let mut found = Vec::new();
    for [a, b, c] in triangles {
        for (u, v, tip) in [(*a, *b, *c), (*a, *c, *b), (*b, *c, *a)] {
            if let Some(other) = open.insert((u, v), tip) {
                found.push([u, tip, v, other]);
            }
        }
    }
    found
}

/// Adds the junction of three places if it can be of use.
pub(crate) fn star(graph: &mut Graph<'_>, ends: [u32; 3]) {
    let plane = graph.plane;
    let places = ends.map(|e| graph.at[e as usize]);
    let found = if plane.is_uniform() {
        junction_of(&places.map(|p| (p, 1.0)))
    } else {
        let meet = tidy::meeting(plane, places[0], places[1], places[2]);
        meet.map(|(_, at)| at)
            .or_else(|| junction_of(&places.map(|p| (p, 1.0))))
    };
    let Some(at) = found else { return };
    if !ends.iter().all(|e| graph.touches(at, *e)) || !plane.walls().holds(at) {
        return;
    }
    add_component(graph, &[at], &ends.map(|e| (0, e)), &[]);
}

/// Adds the full topology in which two junctions join two places each and each other.
fn two_stars(graph: &mut Graph<'_>, left: [u32; 2], right: [u32; 2]) {
    let at = |p: u32| graph.at[p as usize];
    let mean = |pair: [u32; 2]| (at(pair[0]) + at(pair[1])) * 0.5;
    let (from, to) = (mean(left), mean(right));
    let mut places = vec![at(left[0]), at(left[1]), at(right[0]), at(right[1])];
    places.extend([from * 0.75 + to * 0.25, from * 0.25 + to * 0.75]);
    let holds = [Hold::Fixed; 4].into_iter().chain([Hold::Free; 2]);
    let holds: Vec<Hold> = holds.collect();
    let links = [(0, 4), (1, 4), (4, 5), (2, 5), (3, 5)].map(|(a, b)| (a, b, 1.0));
    settle(&mut places, &holds, &links, 30);
    let short = 1e-4 * far(from, to);
    let is_short = |(a, b, _): &(usize, usize, f64)| far(places[*a], places[*b]) < short;
    let junctions = [places[4], places[5]];
    let held = junctions.iter().all(|p| graph.plane.walls().holds(*p));
    if links.iter().any(is_short) || !held {
        return;
    }
    let legs = [(0, left[0]), (0, left[1]), (1, right[0]), (1, right[1])];
    if legs.iter().all(|(j, e)| graph.touches(junctions[*j], *e)) {
        add_component(graph, &junctions, &legs, &[(0, 1)]);
    }
}

/// Adds junctions with their legs to known places and bars between them, unless one of these is
/// not open or needless, or the places are joined for less without junctions.
fn add_component(
    graph: &mut Graph<'_>,
    junctions: &[Coord],
    legs: &[(usize, u32)],
    bars: &[(usize, usize)],
) {
    let plane = graph.plane;
    let ends: Vec<Coord> = legs.iter().map(|(_, e)| graph.at[*e as usize]).collect();
    let of_legs = legs.iter().zip(&ends);
    let of_legs = of_legs.map(|((j, _), end)| plane.cost_from(*end, junctions[*j]));
    let of_bars = bars
        .iter()
        .map(|(a, b)| plane.cost_from(junctions[*a], junctions[*b]));
    let costs: Vec<f64> = of_legs.chain(of_bars).collect();
    let total: f64 = costs.iter().sum();
    if !total.is_finite() || total >= spanning(plane, &ends) {
        return;
    }
    let before = graph.count();
    let numbers: Vec<u32> = junctions
        .iter()
        .map(|at| graph.place(*at, Hold::Free))
        .collect();
    let pairs = legs.iter().map(|(j, e)| (numbers[*j], *e));
    let pairs: Vec<(u32, u32)> = pairs
        .chain(bars.iter().map(|(a, b)| (numbers[*a], numbers[*b])))
        .collect();
    let mut known = pairs.iter().zip(&costs);
    if known.any(|((a, b), cost)| graph.is_needless(*a, *b, *cost)) {
        graph.shorten(before);
        return;
    }
    for ((a, b), cost) in pairs.into_iter().zip(costs) {
        graph.insert(a, b, cost);
    }
}

/// The least cost of joining places by straight parts between them.
fn spanning(plane: &Plane, places: &[Coord]) -> f64 {
    let mut least: Vec<f64> = places.iter().map(|_| f64::INFINITY).collect();
    let mut outside: Vec<usize> = (1..places.len()).collect();
    let (mut last, mut total) = (0, 0.0);
    while !outside.is_empty() {
        for place in &outside {
            least[*place] = least[*place].min(plane.cost_from(places[last], places[*place]));
        }
        let nearest = (0..outside.len()).min_by(|a, b| {
            let (a, b) = (least[outside[*a]], least[outside[*b]]);
            a.total_cmp(&b)
        });
        let Some(nearest) = nearest else { break };
        last = outside.swap_remove(nearest);
        total += least[last];
    }
    total
}

/// Junctions that might better a tree: of each place with two of its neighbours, and of each part
/// with places near it. The tree must be in the graph, its places under these numbers.
pub(crate) fn around(graph: &mut Graph<'_>, net: &Net, numbers: &[u32]) {
    for (place, links) in net.beside.iter().enumerate() {
        for (i, a) in links.iter().enumerate() {
            for b in &links[i + 1..] {
                star(graph, [numbers[place], numbers[*a], numbers[*b]]);
            }
        }
    }
    for (a, b) in net.parts() {
        let (from, to) = (net.at[a], net.at[b]);
        let others = (0..net.at.len()).filter(|p| *p != a && *p != b);
        let mut near: Vec<(f64, usize)> =
            others.map(|p| (off_part(net.at[p], from, to), p)).collect();
        near.sort_by(|p, q| p.0.total_cmp(&q.0).then(p.1.cmp(&q.1)));
        for (_, place) in near.into_iter().take(NEAR_PART) {
            star(graph, [numbers[place], numbers[a], numbers[b]]);
            graph.join(numbers[place], numbers[a]);
            graph.join(numbers[place], numbers[b]);
        }
    }
}

fn off_part(p: Coord, a: Coord, b: Coord) -> f64 {
    let along = b - a;
    let share = dot(p - a, along) / dot(along, along).max(f64::MIN_POSITIVE);
    far(p, a + along * share.clamp(0.0, 1.0))
}
