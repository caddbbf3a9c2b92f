//! Changes of a tree's shape that make it cheaper: parts that vanish, ways that straighten, corners
//! that split into junctions, borders that are crossed elsewhere.

use super::exact::{dot, far};
use super::net::Net;
use super::{Hold, Plane, junction_of, refraction};
use geo::Coord;

/// A change must gain this share of what it changes; less is rounding.
const GAIN: f64 = 1e-11;
/// Parts up to this share of the extent are tried without.
const SHORT: f64 = 5e-3;
/// Parts this short, as a share of the extent, are no parts.
const NOTHING: f64 = 1e-9;

/// Makes every change that gains, once over.
pub(crate) fn tidy(net: &mut Net, plane: &Plane, extent: f64) {
    contract(net, plane, extent);
    straighten(net, plane);
    split(net, plane);
    slide(net, plane);
    net.compact();
    cross(net, plane);
}

/// Merges the ends of short parts where that costs nothing.
fn contract(net: &mut Net, plane: &Plane, extent: f64) {
    for (a, b) in net.parts() {
        let long = far(net.at[a], net.at[b]);
        if long > SHORT * extent || !net.beside[a].contains(&b) {
            continue;
        }
        let movable = |p: usize| !net.is_terminal(p) && net.hold[p] != Hold::Fixed;
        let (gone, kept) = match (movable(a), movable(b)) {
            (true, _) if net.hold[a] == Hold::Free || !movable(b) => (a, b),
            (_, true) => (b, a),
            _ if long <= 0.0 && !net.is_terminal(b) => (b, a),
            _ => continue,
        };
        let before = net.cost_at(plane, gone, net.at[gone]);
        let after = net.cost_at(plane, gone, net.at[kept]);
        if after <= before * (1.0 - GAIN) || (long <= NOTHING * extent && after.is_finite()) {
            for other in net.beside[gone].clone() {
                net.unlink(gone, other);
                net.link(kept, other);
            }
        }
    }
    net.compact();
}

/// Takes out bends that a straight part or a shorter way round the obstacles makes needless.
fn straighten(net: &mut Net, plane: &Plane) {
    for place in net.terminals..net.at.len() {
        if let [a, b] = net.beside[place][..] {
            let bent = net.cost_at(plane, place, net.at[place]);
            let (straight, turns) = plane.route(net.at[a], net.at[b]);
            let same = turns == [net.at[place]];
            if !same && straight <= bent * (1.0 + 1e-14) && !net.beside[a].contains(&b) {
                net.unlink(place, a);
                net.unlink(place, b);
                net.link(a, b);
                net.bend(a, b, &turns);
            }
        }
    }
    reroute(net, plane);
}

/// Replaces whole ways between places where parts meet by shorter ones round the obstacles.
fn reroute(net: &mut Net, plane: &Plane) {
    let key = |net: &Net, p: usize| net.is_terminal(p) || net.degree(p) != 2;
    for start in 0..net.at.len() {
        if net.degree(start) == 0 || !key(net, start) {
            continue;
        }
        for first in net.beside[start].clone() {
            let mut chain = vec![start, first];
            while !key(net, chain[chain.len() - 1]) {
                let (here, last) = (chain[chain.len() - 1], chain[chain.len() - 2]);
                let Some(next) = net.beside[here].iter().find(|n| **n != last) else {
                    break;
                };
                chain.push(*next);
            }
            let end = chain[chain.len() - 1];
            if chain.len() < 4 || end < start || net.beside[start].contains(&end) {
                continue;
            }
            let parts = chain.windows(2);
            let old: f64 = parts.map(|p| plane.cost(net.at[p[0]], net.at[p[1]])).sum();
            let (new, turns) = plane.route(net.at[start], net.at[end]);
            if new < old * (1.0 - GAIN) {
                chain.windows(2).for_each(|p| net.unlink(p[0], p[1]));
                net.link(start, end);
                net.bend(start, end, &turns);
            }
        }
    }
}

/// Lets two parts that leave a place at a sharp angle meet before it.
fn split(net: &mut Net, plane: &Plane) {
    for place in 0..net.at.len() {
        let mut again = net.degree(place) > 1;
        while again {
            again = split_once(net, plane, place);
        }
    }
}

fn split_once(net: &mut Net, plane: &Plane, place: usize) -> bool {
    let mut best: Option<(f64, Coord, usize, usize)> = None;
    let links = &net.beside[place];
    for (i, a) in links.iter().enumerate() {
        for b in &links[i + 1..] {
            let Some((gain, at)) = meeting(plane, net.at[place], net.at[*a], net.at[*b]) else {
                continue;
            };
            if best.is_none_or(|(most, ..)| gain > most) {
                best = Some((gain, at, *a, *b));
            }
        }
    }
    let Some((_, at, a, b)) = best else {
        return false;
    };
    let new = net.add(at, Hold::Free);
    for end in [a, b] {
        net.unlink(place, end);
        net.link(new, end);
    }
    net.link(new, place);
    true
}

/// A place where the ways from `from` to `a` and `b` better part, and what it gains.
pub(crate) fn meeting(plane: &Plane, from: Coord, a: Coord, b: Coord) -> Option<(f64, Coord)> {
    let (long_a, long_b) = (far(from, a), far(from, b));
    if long_a <= 0.0 || long_b <= 0.0 {
        return None;
    }
    let (unit_a, unit_b) = ((a - from) / long_a, (b - from) / long_b);
    let (weight_a, weight_b) = (plane.mean_unit(from, a), plane.mean_unit(from, b));
    let pull = unit_a * weight_a + unit_b * weight_b;
    if dot(pull, pull) <= plane.least_unit().powi(2) {
        return None;
    }
    let before = plane.cost_from(from, a) + plane.cost_from(from, b);
    let ahead = from + pull * (0.01 * long_a.min(long_b) / dot(pull, pull).sqrt());
    let mut stem = plane.unit_at(ahead);
    let mut weights = (weight_a, weight_b);
    let mut best: Option<(f64, Coord)> = None;
    // The weights depend on where the parts run, so they are taken again at the place found.
    for _ in 0..3 {
        let least = f64::MIN_POSITIVE;
        let Some(at) = junction_of(&[
            (from, stem.max(least)),
            (a, weights.0.max(least)),
            (b, weights.1.max(least)),
        ]) else {
            break;
        };
        if !plane.walls().holds(at) {
            break;
        }
        let after = [from, a, b].map(|end| plane.cost_from(at, end));
        let gain = before - after.iter().sum::<f64>();
        if gain > GAIN * before && best.is_none_or(|(most, _)| gain > most) {
            best = Some((gain, at));
        }
        stem = plane.mean_unit(at, from);
        weights = (plane.mean_unit(at, a), plane.mean_unit(at, b));
        if plane.is_uniform() {
            break;
        }
    }
    best
}

/// Moves bends at the ends of borders on to other borders that meet there.
fn slide(net: &mut Net, plane: &Plane) {
    if plane.is_uniform() {
        return;
    }
    let borders: Vec<(Coord, Coord)> = plane.borders().collect();
    for place in net.terminals..net.at.len() {
        let [a, b] = net.beside[place][..] else {
            continue;
        };
        let (from, to, here) = (net.at[a], net.at[b], net.at[place]);
        let mut least = net.cost_at(plane, place, here);
        for border in &borders {
            if far(border.0, here) > 1e-9 && far(border.1, here) > 1e-9 {
                continue;
            }
            let units = (plane.mean_unit(from, here), plane.mean_unit(to, here));
            let at = refraction(*border, (from, units.0), (to, units.1));
            let cost = net.cost_at(plane, place, at);
            if plane.walls().holds(at) && cost < least * (1.0 - GAIN) {
                least = cost;
                net.at[place] = at;
                net.hold[place] = Hold::Along(border.0, border.1);
            }
        }
    }
}

/// Sets a movable place wherever a part crosses from one cost to another.
fn cross(net: &mut Net, plane: &Plane) {
    if plane.is_uniform() {
        return;
    }
    for (a, b) in net.parts() {
        let (from, to) = (net.at[a], net.at[b]);
        let passages = plane.passages(from, to);
        let inner = passages
            .iter()
            .filter(|p| p.share > 1e-9 && p.share < 1.0 - 1e-9);
        let mut here = a;
        let mut any = false;
        for passage in inner {
            if !any {
                net.unlink(a, b);
                any = true;
            }
            let hold = Hold::Along(passage.border.0, passage.border.1);
            let next = net.add(from + (to - from) * passage.share, hold);
            net.link(here, next);
            here = next;
        }
        if any {
            net.link(here, b);
        }
    }
}
