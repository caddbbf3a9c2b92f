//! Ways and trees in the plane, against closed forms and among each other.

#![allow(clippy::unwrap_used, missing_docs)]

mod closed_forms;
mod faults;
mod grounds;
mod properties;
mod trees;
mod visibility;

use geo::{Coord, Polygon};
use routes::plane::{Limits, Plane, Surface, Tree, Walls, Ways, check_tree, join, polygon};
use std::ops::ControlFlow;

type At = (f64, f64);

fn place((x, y): At) -> Coord {
    Coord { x, y }
}

fn outline(places: &[At]) -> Polygon {
    polygon(&places.iter().copied().map(place).collect::<Vec<_>>())
}

fn rectangle(low: At, high: At) -> Polygon {
    outline(&[low, (high.0, low.1), high, (low.0, high.1)])
}

fn apart(a: At, b: At) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// Length of a way through these places.
fn along(places: &[At]) -> f64 {
    places.windows(2).map(|pair| apart(pair[0], pair[1])).sum()
}

fn ways(obstacles: &[Polygon]) -> Ways {
    Ways::new(Walls::new(None, obstacles).unwrap())
}

/// The tree that joins places among obstacles and surfaces, checked by sampling.
fn tree(obstacles: &[Polygon], surfaces: &[Surface], base: f64, joined: &[At]) -> Tree {
    let walls = Walls::new(None, obstacles).unwrap();
    let plane = Plane::new(walls, surfaces, base).unwrap();
    let joined: Vec<Coord> = joined.iter().copied().map(place).collect();
    let limits = Limits {
        work: 2_000_000,
        seed: 1,
    };
    let tree = join(&plane, &joined, limits, &|_| ControlFlow::Continue(())).unwrap();
    check_tree(None, obstacles, (surfaces, base), &joined, &tree).unwrap();
    assert!(tree.bound <= tree.cost);
    tree
}

#[track_caller]
fn near(found: f64, known: f64, relative: f64) {
    assert!(
        (found - known).abs() <= relative * known.abs(),
        "{found} is not {known}"
    );
}
