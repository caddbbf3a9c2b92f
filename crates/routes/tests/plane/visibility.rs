//! Lines that touch, graze and follow obstacles.

use crate::{along, near, outline, place, rectangle, ways};
use geo::{Coord, Polygon};
use routes::plane::{PlaneError, Walls, Ways};

fn walls(obstacles: &[Polygon]) -> Walls {
    Walls::new(None, obstacles).unwrap()
}

#[test]
fn edges_may_be_followed_and_corners_touched() {
    let walls = walls(&[rectangle((2.0, 2.0), (4.0, 4.0))]);
    let open = |a, b| walls.is_open(place(a), place(b));
    assert!(open((0.0, 2.0), (6.0, 2.0)), "along an edge");
    assert!(open((2.0, 3.0), (2.0, 6.0)), "from an edge along it");
    assert!(open((0.0, 4.0), (4.0, 8.0)), "past a corner");
    assert!(open((1.0, 5.0), (3.0, 3.0)) == open((3.0, 3.0), (1.0, 5.0)));
    assert!(!open((0.0, 0.0), (6.0, 6.0)), "from corner to corner");
    assert!(!open((2.0, 2.0), (4.0, 4.0)), "along its diagonal");
    assert!(!open((2.0, 3.0), (4.0, 3.0)), "from edge to edge");
    assert!(!open((3.0, 3.0), (3.0, 3.0)), "a place inside");
    assert!(open((2.0, 3.0), (2.0, 3.0)), "a place on an edge");
}

#[test]
fn between_obstacles_that_touch_in_a_corner_there_is_a_way() {
    let ways = ways(&[
        rectangle((0.0, 0.0), (4.0, 4.0)),
        rectangle((4.0, 4.0), (8.0, 8.0)),
    ]);
    let (a, b) = ((1.0, 7.0), (7.0, 1.0));
    near(
        ways.length(place(a), place(b)).unwrap(),
        along(&[a, b]),
        1e-12,
    );
    let c = (8.0, 3.0);
    let known = along(&[(1.0, 7.0), (4.0, 4.0), c]);
    near(ways.length(place(a), place(c)).unwrap(), known, 1e-12);
}

#[test]
fn between_obstacles_that_lie_edge_to_edge_there_is_none() {
    let ways = ways(&[
        rectangle((0.0, 0.0), (4.0, 4.0)),
        rectangle((4.0, -1.0), (8.0, 4.0)),
    ]);
    let (a, b) = ((4.0, 9.0), (3.0, -2.0));
    let left = along(&[a, (0.0, 4.0), (0.0, 0.0), b]);
    near(ways.length(place(a), place(b)).unwrap(), left, 1e-12);
}

#[test]
fn a_notch_is_entered_and_a_wall_at_the_boundary_passed_nowhere() {
    let yard = rectangle((0.0, 0.0), (10.0, 10.0));
    let fence = rectangle((4.0, 0.0), (5.0, 10.0));
    let shut = Ways::new(Walls::new(Some(&yard), std::slice::from_ref(&fence)).unwrap());
    assert_eq!(shut.length(place((1.0, 1.0)), place((9.0, 1.0))), None);
    let gate = rectangle((4.0, 0.0), (5.0, 9.5));
    let ajar = Ways::new(Walls::new(Some(&yard), &[gate]).unwrap());
    let known = along(&[(1.0, 1.0), (4.0, 9.5), (5.0, 9.5), (9.0, 1.0)]);
    near(
        ajar.length(place((1.0, 1.0)), place((9.0, 1.0))).unwrap(),
        known,
        1e-12,
    );
    assert_eq!(ajar.length(place((1.0, 1.0)), place((11.0, 1.0))), None);
    assert!(
        ajar.length(place((0.0, 10.0)), place((10.0, 0.0)))
            .is_some()
    );
}

#[test]
fn places_at_corners_on_edges_and_inside_are_told_apart() {
    let ways = ways(&[rectangle((2.0, 2.0), (4.0, 4.0))]);
    let length = |a, b| ways.length(place(a), place(b));
    near(length((2.0, 2.0), (4.0, 4.0)).unwrap(), 4.0, 1e-12);
    near(length((2.0, 3.0), (4.0, 3.0)).unwrap(), 4.0, 1e-12);
    assert_eq!(length((3.0, 3.0), (9.0, 9.0)), None);
    assert_eq!(length((2.0, 2.0), (2.0, 2.0)), Some(0.0));
}

/// A line one step of the last bit above or below a corner is open or not accordingly.
#[test]
fn a_hair_decides() {
    let walls = walls(&[outline(&[(1.0, 0.0), (2.0, 0.5), (1.0, 1.0)])]);
    let at = |x: f64, y: f64| Coord { x, y };
    let top = 0.5_f64;
    assert!(walls.is_open(at(2.0, -3.0), at(2.0, 3.0)));
    assert!(!walls.is_open(at(2f64.next_down(), -3.0), at(2f64.next_down(), 3.0)));
    assert!(walls.is_open(at(2.0, top), at(5.0, top)));
    assert!(!walls.is_open(at(2f64.next_down(), top), at(5.0, top)));
}

#[test]
fn overlapping_obstacles_are_one() {
    let ways = ways(&[
        rectangle((0.0, 0.0), (4.0, 2.0)),
        rectangle((3.0, -3.0), (5.0, 5.0)),
    ]);
    let (a, b) = ((1.0, 3.0), (1.0, -1.0));
    let known = along(&[a, (0.0, 2.0), (0.0, 0.0), b]);
    near(ways.length(place(a), place(b)).unwrap(), known, 1e-12);
}

#[test]
fn bad_numbers_are_refused_and_flat_outlines_passed_over() {
    let bad = outline(&[(0.0, 0.0), (f64::NAN, 1.0), (2.0, 2.0)]);
    assert_eq!(Walls::new(None, &[bad]).unwrap_err(), PlaneError::NotFinite);
    let flat = outline(&[(0.0, 0.0), (1.0, 1.0), (2.0, 2.0)]);
    assert!(walls(&[flat]).corners().is_empty());
}
