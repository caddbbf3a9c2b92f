//! Ways and single places that can be worked out by hand. Source of each: elementary geometry, unless
//! another is given.

use crate::{along, apart, near, outline, place, rectangle, ways};
use routes::plane::{Hold, junction_of, refraction, settle};

#[test]
fn the_shortest_way_round_a_rectangle_turns_at_two_corners() {
    let ways = ways(&[rectangle((8.0, 4.0), (12.0, 15.0))]);
    let way = ways.way(place((2.0, 10.0)), place((18.0, 10.0))).unwrap();
    let known = along(&[(2.0, 10.0), (8.0, 15.0), (12.0, 15.0), (18.0, 10.0)]);
    near(way.length, known, 1e-12);
    assert_eq!(way.places.len(), 4);
}

/// Round a regular polygon of many sides: two tangents and the sides between them; close to the
/// way round its circle, `2·√(d² − r²) + r·(π − 2·acos(r/d))`.
#[test]
fn the_shortest_way_round_a_disc_is_two_tangents_and_an_arc() {
    let (sides, r, d) = (720, 3.0, 8.0);
    let step = std::f64::consts::TAU / f64::from(sides);
    let ring: Vec<_> = (0..sides)
        .map(|i| {
            (
                r * (step * f64::from(i)).cos(),
                r * (step * f64::from(i)).sin(),
            )
        })
        .collect();
    let found = ways(&[outline(&ring)])
        .length(place((-d, 0.0)), place((d, 0.0)))
        .unwrap();
    // The corners touched lie between the tangents' directions from the middle.
    let lean = (r / d).acos();
    let first = (lean / step).ceil() as usize;
    let last = ((std::f64::consts::PI - lean) / step).floor() as usize;
    let mut exact = f64::INFINITY;
    for (first, last) in [(first, last), (first - 1, last + 1)] {
        let mut places = vec![(d, 0.0)];
        places.extend((first..=last).map(|i| ring[i]));
        places.push((-d, 0.0));
        exact = exact.min(along(&places));
    }
    near(found, exact, 1e-6);
    let circle = 2.0 * (d * d - r * r).sqrt() + r * (std::f64::consts::PI - 2.0 * lean);
    near(found, circle, 1e-4);
}

#[test]
fn the_shortest_way_out_of_a_u_turns_at_its_tips() {
    // A U that opens upward; one end inside it, the other below it.
    let u = [
        (0.0, 0.0),
        (10.0, 0.0),
        (10.0, 8.0),
        (9.0, 8.0),
        (9.0, 1.0),
        (1.0, 1.0),
        (1.0, 8.0),
        (0.0, 8.0),
    ];
    let (inside, below) = ((4.0, 2.0), (4.0, -3.0));
    let found = ways(&[outline(&u)])
        .length(place(inside), place(below))
        .unwrap();
    let known = along(&[inside, (1.0, 8.0), (0.0, 8.0), (0.0, 0.0), below]);
    near(found, known, 1e-6);
}

/// Weighted junction: with weights 3, 4 and 5 (a right triangle of weights) the two lighter legs meet
/// at a right angle. Source: the triangle of forces at rest (Lamy; from memory).
#[test]
fn three_weights_meet_at_the_angles_of_their_triangle() {
    let places = [((0.0, 0.0), 3.0), ((10.0, 1.0), 4.0), ((4.0, 9.0), 5.0)];
    let at = junction_of(&places.map(|(p, w)| (place(p), w))).unwrap();
    let leg = |p| (place(p) - at) / apart(p, (at.x, at.y));
    let (u, v) = (leg(places[0].0), leg(places[1].0));
    assert!((u.x * v.x + u.y * v.y).abs() < 1e-7);
}

#[test]
fn many_places_in_balance_meet_in_the_middle() {
    let ring: Vec<_> = (0..7)
        .map(|i| f64::from(i) * std::f64::consts::TAU / 7.0)
        .map(|turn| (place((5.0 + turn.cos(), 2.0 + turn.sin())), 2.5))
        .collect();
    let at = junction_of(&ring).unwrap();
    assert!(apart((at.x, at.y), (5.0, 2.0)) < 1e-9);
}

/// A full topology on the corners of a rectangle a × b, a ≥ b: `a + b·√3`.
#[test]
fn a_full_topology_settles() {
    let (a, b) = (3.0, 2.0);
    let ends = [
        (0.0, 0.0),
        (0.0, b),
        (a, 0.0),
        (a, b),
        (1.0, 0.3),
        (1.5, 1.1),
    ];
    let mut places = ends.map(place);
    let mut holds = [Hold::Fixed; 6];
    holds[4] = Hold::Free;
    holds[5] = Hold::Free;
    let links = [(0, 4), (1, 4), (4, 5), (5, 2), (5, 3)].map(|(a, b)| (a, b, 1.0));
    let length = settle(&mut places, &holds, &links, 200);
    near(length, a + b * 3f64.sqrt(), 1e-9);
}

/// The ratio of the sines equals the inverse ratio of the unit costs.
#[test]
fn a_border_is_crossed_by_the_law_of_refraction() {
    for (unit_a, unit_b) in [(1.0, 1.0), (1.0, 4.8), (10.0, 3.0)] {
        let (a, b) = (place((0.0, 5.0)), place((9.0, -4.0)));
        let border = (place((-20.0, 0.0)), place((30.0, 0.0)));
        let at = refraction(border, (a, unit_a), (b, unit_b));
        let sine_a = (at.x - a.x) / (at - a).x.hypot((at - a).y);
        let sine_b = (b.x - at.x) / (b - at).x.hypot((b - at).y);
        near(sine_a * unit_a, sine_b * unit_b, 1e-9);
        // The same place by settling.
        let mut places = [a, b, place((1.0, 0.0))];
        let holds = [Hold::Fixed, Hold::Fixed, Hold::Along(border.0, border.1)];
        settle(&mut places, &holds, &[(0, 2, unit_a), (1, 2, unit_b)], 500);
        assert!(
            (places[2].x - at.x).abs() < 1e-6,
            "{} {}",
            places[2].x,
            at.x
        );
    }
}
