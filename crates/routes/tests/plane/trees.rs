//! Trees whose length is known. Source: closed forms of elementary geometry; that they are least
//! for three and four places: E. N. Gilbert and H. O. Pollak, "Steiner minimal trees", SIAM Journal on
//! Applied Mathematics 16 (1968), 1–29 (from memory).

use crate::{At, near, place, rectangle, tree};
use routes::plane::{Limits, Plane, PlaneError, Walls, join, polish};
use std::ops::ControlFlow;

fn free(joined: &[At]) -> f64 {
    tree(&[], &[], 1.0, joined).cost
}

#[test]
fn an_even_triangle_costs_its_side_times_root_three() {
    let side = 7.0;
    let top = (side / 2.0, side * 3f64.sqrt() / 2.0);
    near(
        free(&[(0.0, 0.0), (side, 0.0), top]),
        side * 3f64.sqrt(),
        1e-9,
    );
}

#[test]
fn a_square_costs_one_and_root_three() {
    let square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)];
    near(free(&square), 1.0 + 3f64.sqrt(), 1e-9);
}

#[test]
fn a_rectangle_costs_its_long_side_and_root_three_short_ones() {
    for (a, b) in [(2.0, 1.0), (5.0, 1.0), (1.1, 1.0)] {
        let corners = [(0.0, 0.0), (a, 0.0), (a, b), (0.0, b)];
        near(free(&corners), a + b * 3f64.sqrt(), 1e-9);
    }
}

/// Six corners of a regular hexagon: five sides.
#[test]
fn a_hexagon_costs_five_sides() {
    let corners: Vec<At> = (0..6)
        .map(|i| (f64::from(i) * std::f64::consts::FRAC_PI_3).sin_cos())
        .collect();
    near(free(&corners), 5.0, 1e-9);
}

/// A ladder of four unit squares in a row, 2 × 5 places: every square has its own cross where that is
/// least; known for 2 × n ladders: for n even `n·(1 + √3/2) − 1`, for n odd `√((n(1 + √3/2) − 1)² + 1/4)`.
/// Source: F. R. K. Chung and R. L. Graham, "Steiner trees for ladders", Annals of Discrete
/// Mathematics 2 (1978), 173–200 (from memory).
#[test]
fn ladders_cost_what_is_known_of_them() {
    for n in [2, 3, 4, 5, 6] {
        let steps = 0..n;
        let places: Vec<At> = steps
            .flat_map(|i| [(f64::from(i), 0.0), (f64::from(i), 1.0)])
            .collect();
        let even = f64::from(n) * (1.0 + 3f64.sqrt() / 2.0) - 1.0;
        let known = if n % 2 == 0 { even } else { even.hypot(0.5) };
        near(free(&places), known, 1e-6);
    }
}

/// A wall between a place and the two others: one junction and turns at the wall's corners.
#[test]
fn a_wall_bends_the_tree_round_its_corner() {
    let wall = rectangle((4.0, -20.0), (5.0, 3.0));
    let (a, b, c) = ((0.0, 0.0), (9.0, 1.0), (9.0, -1.0));
    let cost = tree(&[wall], &[], 1.0, &[a, b, c]).cost;
    // To the corners, and a junction of the corner with the two places behind it.
    let corner = (5.0, 3.0);
    let root = 3f64.sqrt();
    // Three places: length² = (sum of squared sides)/2 + 2·√3·area.
    let sides = [
        crate::apart(corner, b),
        crate::apart(b, c),
        crate::apart(c, corner),
    ];
    let area =
        0.5 * ((b.0 - corner.0) * (c.1 - corner.1) - (b.1 - corner.1) * (c.0 - corner.0)).abs();
    let squares: f64 = sides.iter().map(|s| s * s).sum();
    let behind = (squares / 2.0 + 2.0 * root * area).sqrt();
    near(cost, 5.0 + 1.0 + behind, 1e-2);
    assert!(cost <= 5.0 + 1.0 + sides[0] + 2.0 + 1e-9);
}

#[test]
fn polishing_never_makes_a_tree_dearer() {
    let places: Vec<_> = [(0.0, 0.0), (4.0, 0.0), (2.0, 3.0), (2.0, 0.5)]
        .map(place)
        .to_vec();
    let plane = Plane::new(Walls::new(None, &[]).unwrap(), &[], 1.0).unwrap();
    let parts = vec![(0, 3), (1, 3), (2, 3)];
    let cost = parts
        .iter()
        .map(|(a, b)| plane.cost(places[*a], places[*b]))
        .sum();
    let rough = routes::plane::Tree {
        places,
        parts,
        cost,
        bound: 0.0,
        work: 0,
    };
    let found = polish(&plane, 3, &rough);
    // A triangle with base 4 and height 3: height and half the base times root three.
    near(found.cost, 3.0 + 2.0 * 3f64.sqrt(), 1e-9);
}

#[test]
fn what_cannot_be_joined_is_named() {
    let yard = rectangle((0.0, 0.0), (10.0, 10.0));
    let fence = rectangle((4.0, 0.0), (5.0, 10.0));
    let walls = Walls::new(Some(&yard), &[fence]).unwrap();
    let plane = Plane::new(walls, &[], 1.0).unwrap();
    let limits = Limits { work: 1, seed: 1 };
    let ask = |joined: &[At]| {
        let joined: Vec<_> = joined.iter().copied().map(place).collect();
        join(&plane, &joined, limits, &|_| ControlFlow::Continue(())).map(|tree| tree.cost)
    };
    assert_eq!(ask(&[]), Err(PlaneError::NoPlaces));
    assert_eq!(ask(&[(1.0, 1.0), (4.5, 1.0)]), Err(PlaneError::Buried(1)));
    assert_eq!(
        ask(&[(1.0, 1.0), (2.0, 1.0), (8.0, 1.0)]),
        Err(PlaneError::Unreachable(2))
    );
    assert_eq!(ask(&[(1.0, 1.0)]), Ok(0.0));
    assert_eq!(ask(&[(1.0, 1.0), (1.0, 1.0)]), Ok(0.0));
}
