//! The shortest way, as a network of one pipe.

use std::ops::ControlFlow;

use anyhow::Result;
use geo::{Coord, MultiPolygon, unary_union};
use ground::FreeGround;
use serde_json::{Value, json};
use steiner::{Edge, Group, Limits, Problem, solve, unreachable_terminals};

use crate::json::{point, polygon, polygons};

/// One pipe between two places is the smallest network of trenches: the ground says where a trench
/// may turn and run straight, and the search for trees finds the path.
pub fn shortest_path(question: &Value) -> Result<Value> {
    let area = MultiPolygon::new(vec![polygon(&question["boundary"])?]);
    let open = FreeGround::new(&area, &unary_union(&polygons(&question["obstacles"])?));
    let mut places = vec![point(&question["from"])?, point(&question["to"])?];
    places.extend(open.turning_corners());
    let edges = sights(&open, &places);
    let group = Group {
        terminals: vec![0, 1],
        rate: 1.0,
    };
    let problem = Problem::new(places.len(), edges, vec![group])?;
    if !unreachable_terminals(&problem).is_empty() {
        return Ok(json!({"length": null}));
    }
    let limits = Limits {
        work: 1_000_000,
        seed: 1,
    };
    let solution = solve(&problem, limits, &|_| ControlFlow::Continue(()))?;
    Ok(json!({"length": solution.cost}))
}

/// The straight trenches between places.
fn sights(open: &FreeGround, places: &[Coord]) -> Vec<Edge> {
    let mut edges = Vec::new();
    for (a, from) in places.iter().enumerate() {
        for (b, to) in places.iter().enumerate().skip(a + 1) {
            if open.is_open(*from, *to) {
                let length = (*from - *to).x.hypot((*from - *to).y);
                edges.push(Edge {
                    a: a as u32,
                    b: b as u32,
                    shared: 0.0,
                    length,
                });
            }
        }
    }
    edges
}
