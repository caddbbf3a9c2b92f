//! What holds for any scene.

use crate::{At, apart, near, outline, place, tree, ways};
use geo::Polygon;
use proptest::prelude::*;
use routes::plane::Ways;

/// A convex polygon of three to six corners around a place.
fn block() -> impl Strategy<Value = Vec<At>> {
    let shape = (3..7_u32, 0.0..6.0_f64, 0.5..3.0_f64, 0.4..1.0_f64);
    ((0.0..20.0_f64, 0.0..20.0_f64), shape).prop_map(|((x, y), (n, turn, r, flat))| {
        let step = std::f64::consts::TAU / f64::from(n);
        let angle = |i: u32| turn + step * f64::from(i);
        let at = |i| (x + r * angle(i).cos(), y + flat * r * angle(i).sin());
        (0..n).map(at).collect()
    })
}

fn scene() -> impl Strategy<Value = (Vec<Vec<At>>, Vec<At>)> {
    let blocks = prop::collection::vec(block(), 0..8);
    let places = prop::collection::vec((-2.0..22.0_f64, -2.0..22.0_f64), 3..7);
    (blocks, places)
}

fn polygons(blocks: &[Vec<At>]) -> Vec<Polygon> {
    blocks.iter().map(|b| outline(b)).collect()
}

fn length(ways: &Ways, a: At, b: At) -> Option<f64> {
    ways.length(place(a), place(b))
}

/// Only those places that lie in no block.
fn held(ways: &Ways, places: &[At]) -> Vec<At> {
    let holds = |p: &At| ways.walls().holds(place(*p));
    places.iter().copied().filter(holds).collect()
}

fn moved((x, y): At, turn: f64) -> At {
    let (sin, cos) = turn.sin_cos();
    (x * cos - y * sin + 100.0, x * sin + y * cos - 40.0)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn ways_are_a_distance((blocks, places) in scene()) {
        let ways = ways(&polygons(&blocks));
        let places = held(&ways, &places);
        for a in &places {
            for b in &places {
                let there = length(&ways, *a, *b);
                let back = length(&ways, *b, *a);
                prop_assert_eq!(there.is_some(), back.is_some());
                let (Some(there), Some(back)) = (there, back) else { continue };
                prop_assert!(there >= apart(*a, *b) * (1.0 - 1e-12));
                prop_assert!((there - back).abs() <= 1e-12 * there);
                for c in &places {
                    if let (Some(first), Some(then)) = (length(&ways, *a, *c), length(&ways, *c, *b)) {
                        prop_assert!(there <= (first + then) * (1.0 + 1e-12));
                    }
                }
            }
        }
    }

    #[test]
    fn a_way_is_as_long_as_its_open_parts((blocks, places) in scene()) {
        let ways = ways(&polygons(&blocks));
        if let Some(way) = ways.way(place(places[0]), place(places[1])) {
            let parts = way.places.windows(2);
            let sum: f64 = parts.clone().map(|p| apart((p[0].x, p[0].y), (p[1].x, p[1].y))).sum();
            prop_assert!((way.length - sum).abs() <= 1e-12 * sum);
            for pair in parts {
                prop_assert!(ways.walls().is_open(pair[0], pair[1]));
            }
        }
    }

    #[test]
    fn moving_and_turning_the_scene_changes_no_length((blocks, places) in scene(), turn in 0.0..6.0_f64) {
        let here = ways(&polygons(&blocks));
        let blocks: Vec<Vec<At>> =
            blocks.iter().map(|b| b.iter().map(|p| moved(*p, turn)).collect()).collect();
        let there = ways(&polygons(&blocks));
        let places = held(&here, &places);
        for pair in places.windows(2) {
            let before = length(&here, pair[0], pair[1]);
            let after = length(&there, moved(pair[0], turn), moved(pair[1], turn));
            prop_assert_eq!(before.is_some(), after.is_some());
            if let (Some(before), Some(after)) = (before, after) {
                prop_assert!((before - after).abs() <= 1e-9 * before);
            }
        }
    }
}

/// The least cost of joining places by shortest ways between them.
fn spanning(ways: &Ways, places: &[At]) -> f64 {
    let mut off = vec![f64::INFINITY; places.len()];
    let mut inside = vec![false; places.len()];
    off[0] = 0.0;
    let mut total = 0.0;
    for _ in 0..places.len() {
        let outside = (0..places.len()).filter(|p| !inside[*p]);
        let next = outside.min_by(|a, b| off[*a].total_cmp(&off[*b])).unwrap();
        inside[next] = true;
        total += off[next];
        for other in 0..places.len() {
            let far = length(ways, places[next], places[other]).unwrap_or(f64::INFINITY);
            off[other] = if inside[other] {
                off[other]
            } else {
                off[other].min(far)
            };
        }
    }
    total
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_tree_costs_no_more_than_its_spanning_tree_and_grows_with_the_scene((blocks, places) in scene()) {
        let obstacles = polygons(&blocks);
        let ways = ways(&obstacles);
        let places = held(&ways, &places);
        prop_assume!(places.len() > 1);
        prop_assume!(places.iter().all(|p| length(&ways, places[0], *p).is_some()));
        let cost = tree(&obstacles, &[], 1.0, &places).cost;
        prop_assert!(cost <= spanning(&ways, &places) * (1.0 + 1e-9));
        // Four times the size is exact in binary, so every decision is the same.
        let grown = |list: &[At]| list.iter().map(|(x, y)| (4.0 * x, 4.0 * y)).collect::<Vec<At>>();
        let blocks: Vec<Vec<At>> = blocks.iter().map(|b| grown(b)).collect();
        let large = tree(&polygons(&blocks), &[], 1.0, &grown(&places)).cost;
        near(large, 4.0 * cost, 1e-9);
    }
}
