//! Ties of plain yards, against their own definition.

use crate::sight::Sight;
use crate::tie::{Ties, expected, sigma};
use crate::{FixedPoint, Side, Tie, baseline, fixed};
use geo::{line_string, polygon};
use job::{Job, Place, ReadOptions};
use proptest::prelude::*;

/// The demo with its survey emptied but for the property line, and a house of 10 m by 8 m at (20, 20).
fn yard() -> Job {
    let mut job = job::read(job::DEMO, &ReadOptions::default()).unwrap().job;
    let survey = &mut job.survey;
    survey.trees.clear();
    survey.gates.clear();
    survey.marks.clear();
    survey.baseline = None;
    survey.obstacles.truncate(1);
    survey.obstacles[0].kind = job::ObstacleKind::Building;
    survey.obstacles[0].shape = job::Shape::Area(polygon![
        (x: 20., y: 20.), (x: 30., y: 20.), (x: 30., y: 28.), (x: 20., y: 28.),
    ]);
    survey.boundary.polygon = polygon![
        (x: 0., y: 0.), (x: 60., y: 0.), (x: 60., y: 50.), (x: 0., y: 50.),
    ];
    job
}

/// Where two arcs meet on the stated side.
fn meet(fixed: &[FixedPoint], tie: &Tie) -> Place {
    let (a, b) = (fixed[tie.first.fixed].at, fixed[tie.second.fixed].at);
    let (r, s, d) = (tie.first.length.si(), tie.second.length.si(), a.distance(b));
    let along = (r * r - s * s + d * d) / (2.0 * d);
    let height = (r * r - along * along).max(0.0).sqrt();
    let height = match tie.side {
        Side::Left => height,
        Side::Right => -height,
    };
    let (x, y) = ((b.x - a.x) / d, (b.y - a.y) / d);
    Place::new(a.x + along * x - height * y, a.y + along * y + height * x)
}

/// The least expected error of all pairs, looked at one by one.
fn least(job: &Job, fixed: &[FixedPoint], at: Place) -> f64 {
    let sight = Sight::new(job);
    let tape = job.practice.staking.tape_length.value.si();
    let good = |f: &&FixedPoint| f.at.distance(at) <= tape && sight.clear(f.at, at);
    let seen: Vec<&FixedPoint> = fixed.iter().filter(good).collect();
    let mut least = f64::INFINITY;
    for one in &seen {
        for other in &seen {
            let towards = |f: &FixedPoint| (f.at.y - at.y).atan2(f.at.x - at.x);
            let sine = (towards(one) - towards(other)).sin().abs();
            let of = |f: &FixedPoint| sigma(&job.practice, f.at.distance(at));
            if sine > 1e-9 {
                least = least.min(expected(of(one), of(other), sine));
            }
        }
    }
    least
}

fn turned(job: &Job, by: f64, shift: (f64, f64)) -> Job {
    let mut job = job.clone();
    let (sine, cosine) = by.sin_cos();
    let place = |x: f64, y: f64| geo::Coord {
        x: x * cosine - y * sine + shift.0,
        y: x * sine + y * cosine + shift.1,
    };
    let area_of = |polygon: &geo::Polygon| {
        let ring = polygon.exterior().0.iter().map(|c| place(c.x, c.y));
        geo::Polygon::new(ring.collect(), vec![])
    };
    job.survey.boundary.polygon = area_of(&job.survey.boundary.polygon);
    for obstacle in &mut job.survey.obstacles {
        if let job::Shape::Area(area) = &obstacle.shape {
            obstacle.shape = job::Shape::Area(area_of(area));
        }
    }
    job
}

fn outside() -> impl Strategy<Value = Place> {
    (0.5..59.5, 0.5..49.5)
        .prop_map(|(x, y)| Place::new(x, y))
        .prop_filter("in the house", |at| {
            !(19.9..30.1).contains(&at.x) || !(19.9..28.1).contains(&at.y)
        })
}

proptest! {
    #[test]
    fn ties_lead_back_to_the_point_and_none_is_better(at in outside()) {
        let job = yard();
        let fixed = fixed::all(&job);
        match Ties::new(&job, &fixed).of(at) {
            Ok(tie) => {
                prop_assert!(meet(&fixed, &tie).distance(at) < 1e-3);
                let best = least(&job, &fixed, at);
                prop_assert!((tie.error.si() - best).abs() < 1e-9 * best);
                let tape = job.practice.staking.tape_length.value.si();
                for distance in [Some(tie.first), Some(tie.second), tie.check].into_iter().flatten() {
                    prop_assert!(distance.length.si() <= tape);
                }
            }
            Err(_) => prop_assert!(least(&job, &fixed, at).is_infinite()),
        }
    }

    #[test]
    fn no_tape_runs_through_the_house(at in outside()) {
        let job = yard();
        let fixed = fixed::all(&job);
        let sight = Sight::new(&job);
        for from in &fixed {
            let inside = (1..2000).map(|i| from.at.toward(at, f64::from(i) / 2000.0)).any(|p| {
                p.x > 20.01 && p.x < 29.99 && p.y > 20.01 && p.y < 27.99
            });
            prop_assert!(!(inside && sight.clear(from.at, at)));
        }
    }

    #[test]
    fn a_yard_moved_and_turned_has_the_same_ties(
        at in outside(), by in -3.0..3.0, x in -500.0..500.0, y in -500.0..500.0,
    ) {
        let job = yard();
        let moved = turned(&job, by, (x, y));
        let (sine, cosine) = f64::sin_cos(by);
        let there = Place::new(at.x * cosine - at.y * sine + x, at.x * sine + at.y * cosine + y);
        let here = Ties::new(&job, &fixed::all(&job)).of(at);
        let there = Ties::new(&moved, &fixed::all(&moved)).of(there);
        match (here, there) {
            (Ok(here), Ok(there)) => {
                prop_assert!((here.error.si() - there.error.si()).abs() < 1e-9);
                prop_assert!((here.first.length.si() - there.first.length.si()).abs() < 1e-6);
                prop_assert!((here.second.length.si() - there.second.length.si()).abs() < 1e-6);
                prop_assert_eq!(here.side, there.side);
            }
            (here, there) => prop_assert_eq!(here.is_ok(), there.is_ok()),
        }
    }
}

#[test]
fn a_wall_stops_a_tape_and_its_own_corner_does_not() {
    let sight = Sight::new(&yard());
    let corner = Place::new(20.0, 20.0);
    assert!(sight.clear(corner, Place::new(10.0, 10.0)));
    assert!(
        sight.clear(corner, Place::new(30.0, 20.0)),
        "along the face"
    );
    assert!(
        !sight.clear(corner, Place::new(30.0, 28.0)),
        "across the house"
    );
    assert!(!sight.clear(Place::new(10.0, 24.0), Place::new(40.0, 24.0)));
}

#[test]
fn a_gate_lets_a_tape_through_its_fence() {
    let mut job = yard();
    job.survey.obstacles[0].kind = job::ObstacleKind::Fence;
    job.survey.obstacles[0].shape =
        job::Shape::Line(line_string![(x: 0., y: 10.), (x: 60., y: 10.)]);
    let (south, north) = (Place::new(5.0, 5.0), Place::new(5.0, 15.0));
    assert!(!Sight::new(&job).clear(south, north));
    job.survey.gates.push(job::Gate {
        id: "GT".into(),
        from: Place::new(4.0, 10.0),
        to: Place::new(6.0, 10.0),
        clear_width: quantity::Length::m(2.0),
    });
    assert!(Sight::new(&job).clear(south, north));
}

#[test]
fn round_outlines_have_no_corners() {
    let mut job = yard();
    let round = (0..36).map(|i| f64::from(i * 10).to_radians());
    let ring = round.map(|a| (25.0 + 5.0 * a.cos(), 25.0 + 5.0 * a.sin()));
    let ring = geo::LineString::from(ring.collect::<Vec<_>>());
    job.survey.obstacles[0].shape = job::Shape::Area(geo::Polygon::new(ring, vec![]));
    assert_eq!(fixed::all(&job).len(), 4, "those of the property line");
}

#[test]
fn stations_run_along_the_longest_side_of_the_house() {
    let line = baseline::of(&yard()).unwrap();
    let (station, offset, side) = line.station(Place::new(22.0, 17.0));
    assert!((station.si() - 2.0).abs() < 1e-9 && (offset.si() - 3.0).abs() < 1e-9);
    assert_eq!(side, Some(Side::Right));
}
