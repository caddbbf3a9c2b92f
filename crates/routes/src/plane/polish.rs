//! Polishing a tree: every place that may move comes to where it costs least.

use super::exact::{Frame, far};
use super::net::Net;
use super::tidy::tidy;
use super::{Hold, Plane, Tree, settle};
use geo::Coord;

/// At most this many rounds of changing the shape and settling the places.
const ROUNDS: usize = 25;
/// Rounds end when one gains less than this share.
const STILL: f64 = 1e-9;
/// Steps of settling in a round; the shape is looked at again afterwards.
const STEPS: usize = 40;

/// A tree of the same places that is no dearer: junctions, bends and crossings of borders come to
/// rest, junctions are split and merged, and ways round obstacles straightened. The place numbers of what is
/// joined stay; those of the rest may change.
///
/// # Panics
///
/// If the tree has fewer than `joined` places, or a part names a place that it has not.
pub fn polish(plane: &Plane, joined: usize, tree: &Tree) -> Tree {
    let mut net = Net::new(&tree.places[..joined]);
    let borders: Vec<(Coord, Coord)> = plane.borders().collect();
    for place in &tree.places[joined..] {
        net.add(*place, hold_of(plane, &borders, *place));
    }
    for (a, b) in &tree.parts {
        net.link(*a, *b);
    }
    let before = net.cost(plane);
    polished(&mut net, plane);
    let cost = net.cost(plane);
    if cost < before {
        Tree {
            parts: net.parts(),
            places: net.at,
            cost,
            ..*tree
        }
    } else {
        tree.clone()
    }
}

/// Corners of obstacles do not move, places on a border move along it, others move freely.
fn hold_of(plane: &Plane, borders: &[(Coord, Coord)], place: Coord) -> Hold {
    if plane.ways().corners().iter().any(|c| c.at == place) {
        return Hold::Fixed;
    }
    let on = |(a, b): &&(Coord, Coord)| far(*a, place) + far(place, *b) - far(*a, *b) < 1e-9;
    let border = borders.iter().find(on);
    border.map_or(Hold::Free, |(a, b)| Hold::Along(*a, *b))
}

/// Polishes in place; the cost never rises.
pub(crate) fn polished(net: &mut Net, plane: &Plane) {
    let frame = Frame::of(net.at[..net.terminals].iter().copied());
    let extent = far(frame.low, frame.high);
    let mut best = net.cost(plane);
    for _ in 0..ROUNDS {
        let kept = net.clone();
        tidy(net, plane, extent);
        let cost = settled(net, plane);
        if cost.is_nan() || cost > best {
            *net = kept;
            break;
        }
        let gain = best - cost;
        best = cost;
        if gain <= STILL * best {
            break;
        }
    }
    net.compact();
}

/// Moves all places together as far as that pays, else one after the other. Gives the cost.
fn settled(net: &mut Net, plane: &Plane) -> f64 {
    let parts = net.parts();
    let weigh = |(a, b): &(usize, usize)| {
        let weight = plane.mean_unit(net.at[*a], net.at[*b]);
        (*a, *b, weight.max(f64::MIN_POSITIVE))
    };
    let links: Vec<(usize, usize, f64)> = parts.iter().map(weigh).collect();
    let mut target = net.at.clone();
    settle(&mut target, &net.hold, &links, STEPS);
    let before = net.cost(plane);
    for share in [1.0, 0.5, 0.2] {
        let mut moved = net.clone();
        for (here, to) in moved.at.iter_mut().zip(&target) {
            *here = *here + (*to - *here) * share;
        }
        let cost = rerouted(&mut moved, plane);
        if cost < before {
            *net = moved;
            return cost;
        }
    }
    one_by_one(net, plane, &target);
    net.cost(plane)
}

/// Leads parts that are no longer open round the obstacles; the cost afterwards.
fn rerouted(net: &mut Net, plane: &Plane) -> f64 {
    let mut total = 0.0;
    for (a, b) in net.parts() {
        let (cost, turns) = plane.route(net.at[a], net.at[b]);
        if !cost.is_finite() {
            return cost;
        }
        total += cost;
        net.bend(a, b, &turns);
    }
    total
}

fn one_by_one(net: &mut Net, plane: &Plane, target: &[Coord]) {
    for (place, to) in target.iter().enumerate() {
        let here = net.at[place];
        if net.hold[place] == Hold::Fixed || *to == here {
            continue;
        }
        let before = net.cost_at(plane, place, here);
        for share in [1.0, 0.4, 0.1, 0.02] {
            let at = here + (*to - here) * share;
            if !plane.walls().holds(at) {
                continue;
            }
            let routes = net.beside[place].clone().into_iter();
            let routes: Vec<_> = routes.map(|b| (b, plane.route(at, net.at[b]))).collect();
            let cost: f64 = routes.iter().map(|(_, (cost, _))| cost).sum();
            if cost < before {
                net.at[place] = at;
                for (other, (_, turns)) in routes {
                    net.bend(place, other, &turns);
                }
                break;
            }
        }
    }
}
