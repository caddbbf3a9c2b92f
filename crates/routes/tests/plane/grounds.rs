//! Grounds that differ in cost.

use crate::{near, outline, place, rectangle, tree};
use routes::plane::{Plane, Surface, Walls};

fn surface(low: (f64, f64), high: (f64, f64), cost: f64) -> Surface {
    Surface {
        polygon: rectangle(low, high),
        cost,
    }
}

#[test]
fn a_straight_line_pays_for_each_ground_it_crosses_the_upper_one_on_top() {
    let surfaces = [
        surface((2.0, -5.0), (6.0, 5.0), 7.0),
        surface((3.0, -5.0), (4.0, 5.0), 2.0),
    ];
    let plane = Plane::new(Walls::new(None, &[]).unwrap(), &surfaces, 1.0).unwrap();
    let cost = |a, b| plane.cost(place(a), place(b));
    near(cost((0.0, 0.0), (10.0, 0.0)), 6.0 + 3.0 * 7.0 + 2.0, 1e-12);
    near(cost((0.0, 5.0), (10.0, 5.0)), 10.0, 1e-12);
    near(cost((2.0, 0.0), (2.0, 4.0)), 4.0, 1e-12);
    near(cost((5.0, 1.0), (5.0, 2.0)), 7.0, 1e-12);
}

/// Where the cheaper side of a border is an obstacle, it does not count.
#[test]
fn beside_an_obstacle_only_the_open_side_counts() {
    let paved = [surface((0.0, 0.0), (10.0, 2.0), 9.0)];
    let house = rectangle((0.0, 2.0), (10.0, 5.0));
    let plane = Plane::new(Walls::new(None, &[house]).unwrap(), &paved, 1.0).unwrap();
    near(
        plane.cost(place((1.0, 2.0)), place((9.0, 2.0))),
        72.0,
        1e-12,
    );
    near(plane.cost(place((1.0, 0.0)), place((9.0, 0.0))), 8.0, 1e-12);
}

/// Two places on both sides of a straight border: the least of `w₁·√(x² + h₁²) + w₂·√((d − x)² + h₂²)` over `x`,
/// the law of refraction, here by golden section.
#[test]
fn a_way_between_two_grounds_is_refracted() {
    let (h1, h2, d) = (5.0, 4.0, 9.0);
    for dear in [1.5, 3.0, 6.0] {
        let cost = |x: f64| x.hypot(h1) + dear * (d - x).hypot(h2);
        let (mut low, mut high) = (0.0, d);
        for _ in 0..200 {
            let (a, b) = (low + 0.382 * (high - low), high - 0.382 * (high - low));
            if cost(a) < cost(b) {
                high = b;
            } else {
                low = a;
            }
        }
        let known = cost(0.5 * (low + high));
        let ground = surface((-50.0, -50.0), (60.0, 0.0), dear);
        let found = tree(&[], &[ground], 1.0, &[(0.0, h1), (d, -h2)]);
        near(found.cost, known, 1e-7);
    }
}

/// A dear band is skirted where that is cheaper than crossing it.
#[test]
fn a_dear_ground_is_walked_round_at_its_corners() {
    let patch = Surface {
        polygon: outline(&[(8.0, 4.0), (12.0, 4.0), (12.0, 15.0), (8.0, 15.0)]),
        cost: 100.0,
    };
    let found = tree(&[], &[patch], 1.0, &[(2.0, 10.0), (18.0, 10.0)]);
    near(found.cost, 2.0 * 6f64.hypot(5.0) + 4.0, 1e-7);
}

/// From a place on the border of cheap ground along it and back up: critical refraction. The line
/// leaves the border at the angle whose sine is the ratio of the costs, so that a detour to the
/// cheap ground over height `h` and distance `d` costs `d·c + 2·h·√(1 − c²)` at unit cost 1.
#[test]
fn a_cheap_border_is_followed_and_left_at_the_critical_angle() {
    let (c, h, d) = (0.4, 3.0, 30.0);
    let road = surface((-20.0, -2.0), (60.0, 0.0), c);
    let found = tree(&[], &[road], 1.0, &[(0.0, h), (d, h)]);
    near(found.cost, d * c + 2.0 * h * (1.0_f64 - c * c).sqrt(), 1e-6);
}
