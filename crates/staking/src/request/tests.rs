//! Dig areas of plain yards, against what they promise.

use super::outline::{Axes, around};
use super::{DigCorner, LocateRequest, corners, of};
use crate::{Baseline, FixedPoint, baseline, fixed};
use geo::{
    Area as _, BooleanOps, Contains, Coord, Distance, Euclidean, LineString, Point, Polygon,
};
use job::{Job, Place, ReadOptions};
use proptest::prelude::*;
use quantity::{Length, Units};
use working::Ledger;

fn line(from: (f64, f64), to: (f64, f64)) -> Baseline {
    Baseline {
        feature: "B1".into(),
        which: "a line".into(),
        from: Place::new(from.0, from.1),
        to: Place::new(to.0, to.1),
    }
}

fn path(points: &[(f64, f64)]) -> Vec<Place> {
    points.iter().map(|&(x, y)| Place::new(x, y)).collect()
}

fn polygon(ring: &[Place]) -> Polygon {
    let ring: LineString = ring.iter().map(|&place| Coord::from(place)).collect();
    Polygon::new(ring, Vec::new())
}

#[test]
fn a_trench_round_a_corner_gives_six_corners() {
    let trench = path(&[(0.0, 0.0), (40.0, 0.0), (40.0, 30.0)]);
    let axes = Axes::along(Some(&line((0.0, 0.0), (1.0, 0.0))));
    let ring = around(&[&trench], 2.0, &axes).unwrap();
    assert_eq!(ring.len(), 6);
    // 44 m by 34 m without 40 m by 30 m in one corner.
    let area = corners::doubled_area(&ring).abs() / 2.0;
    assert!((area - (44.0 * 34.0 - 40.0 * 30.0)).abs() < 1e-6, "{area}");
}

#[test]
fn a_plain_field_stays_a_rectangle() {
    let rows: Vec<Vec<Place>> = (0..6)
        .map(|i| path(&[(0.0, 5.0 * f64::from(i)), (40.0, 5.0 * f64::from(i))]))
        .collect();
    let rows: Vec<&[Place]> = rows.iter().map(Vec::as_slice).collect();
    let ring = around(&rows, 1.5, &Axes::along(None)).unwrap();
    assert_eq!(ring.len(), 4);
    assert!(around(&[], 1.5, &Axes::along(None)).is_none());
}

#[test]
fn names_go_on_behind_z() {
    let names: Vec<String> = corners::names().take(28).collect();
    assert_eq!(
        (names[0].as_str(), names[25].as_str(), names[27].as_str()),
        ("A", "Z", "AB")
    );
}

/// The demo with its survey emptied but for a property line of 60 m by 50 m and a house of 10 m by 8 m at
/// (20, 20); north is up.
fn yard() -> Job {
    let mut job = job::read(job::DEMO, &ReadOptions::default()).unwrap().job;
    let square = |x: (f64, f64), y: (f64, f64)| {
        polygon(&path(&[(x.0, y.0), (x.1, y.0), (x.1, y.1), (x.0, y.1)]))
    };
    let survey = &mut job.survey;
    survey.gates.clear();
    survey.marks.clear();
    survey.baseline = None;
    survey.obstacles.truncate(1);
    survey.obstacles[0].kind = job::ObstacleKind::Building;
    survey.obstacles[0].shape = job::Shape::Area(square((20.0, 30.0), (20.0, 28.0)));
    survey.boundary.polygon = square((0.0, 60.0), (0.0, 50.0));
    job.anchor = None;
    job
}

fn request(job: &Job, paths: &[Vec<Place>]) -> (LocateRequest, Vec<FixedPoint>, Ledger) {
    let paths: Vec<&[Place]> = paths.iter().map(Vec::as_slice).collect();
    let fixed = fixed::all(job);
    let line = baseline::of(job);
    let mut ledger = Ledger::new();
    let request = of(job, &paths, (line.as_ref(), &fixed), None, &mut ledger);
    (request, fixed, ledger)
}

/// Goes the way that a corner's steps tell.
fn walked(corner: &DigCorner, fixed: &[FixedPoint]) -> Place {
    let start = fixed[corner.from].at;
    corner.steps.iter().fold(start, |at, step| {
        let by = step.length.si();
        match step.toward.as_str() {
            "north" => Place::new(at.x, at.y + by),
            "south" => Place::new(at.x, at.y - by),
            "east" => Place::new(at.x + by, at.y),
            "west" => Place::new(at.x - by, at.y),
            other => panic!("{other} is no axis of this yard"),
        }
    })
}

#[test]
fn a_corner_is_told_from_the_house_and_at_the_property_line_from_its_corner() {
    let (request, fixed, ledger) =
        request(&yard(), &[path(&[(1.0, 1.0), (25.0, 1.0), (25.0, 18.0)])]);
    let corner = |id: &str| request.corners().find(|corner| corner.id == id).unwrap();
    let words = |id: &str| corner(id).place(&fixed, Units::Si);
    assert!(
        request
            .north
            .starts_with("north is the plan's upward direction")
    );
    assert!(
        request
            .corners()
            .any(|c| c.place(&fixed, Units::Si).starts_with("at "))
    );
    assert!(words("A").contains("of "), "{}", words("A"));
    for corner in request.corners() {
        assert!(
            walked(corner, &fixed).distance(corner.at) < 0.02,
            "{corner:?}"
        );
        assert!(
            ledger
                .get(&format!("locate.corner.{}", corner.id))
                .is_some()
        );
    }
    let area = request.areas.iter().map(|a| a.area.si()).sum::<f64>();
    assert!((area - request.area.si()).abs() < 1e-9);
}

#[test]
fn a_property_that_parts_the_area_gives_two() {
    let mut job = yard();
    // A U of ground: a bay of 10 m comes down between two arms.
    job.survey.boundary.polygon = polygon(&path(&[
        (0.0, 0.0),
        (60.0, 0.0),
        (60.0, 50.0),
        (35.0, 50.0),
        (35.0, 10.0),
        (25.0, 10.0),
        (25.0, 50.0),
        (0.0, 50.0),
    ]));
    let arms = [
        path(&[(20.0, 45.0), (24.0, 45.0)]),
        path(&[(36.0, 45.0), (40.0, 45.0)]),
    ];
    let (request, ..) = request(&job, &arms);
    assert_eq!(request.areas.len(), 2);
    let mut ids: Vec<&str> = request.corners().map(|c| c.id.as_str()).collect();
    ids.dedup();
    assert_eq!(ids.len(), request.corners().count());
}

#[test]
fn north_is_the_anchors() {
    let mut job = yard();
    job.anchor = Some(job::Anchor {
        longitude: 0.0,
        latitude: 0.0,
        rotation: 90.0,
        height: Length::ZERO,
    });
    let (request, ..) = request(&job, &[path(&[(10.0, 10.0), (30.0, 10.0)])]);
    assert!(
        request.north.starts_with("north is true north"),
        "{}",
        request.north
    );
    // The plan's y axis points east: what lies up on the plan lies east of the house's corner.
    let north_west = &request.areas[0].corners[0];
    assert_eq!(north_west.heading, "south");
    job.anchor.as_mut().unwrap().rotation = 8.0;
    let (request, ..) = super::tests::request(&job, &[path(&[(10.0, 10.0), (30.0, 10.0)])]);
    assert!(
        request.north.contains("8° clockwise of true north"),
        "{}",
        request.north
    );
}

#[test]
fn a_margin_that_ends_a_hair_beyond_the_property_line_ends_on_it() {
    let job = yard();
    let (plain, ..) = request(&job, &[path(&[(40.0, 10.0), (50.0, 10.0)])]);
    let reach = 60.0 - plain.margin.si();
    for beyond in [0.0, 0.0007, 0.0019, 0.0021, 0.5] {
        let trench = path(&[(40.0, 10.0), (reach + beyond, 30.0)]);
        let (request, ..) = request(&job, &[trench]);
        let corners = request.corners();
        let east = corners.map(|c| c.at.x).fold(0.0, f64::max);
        assert!((east - 60.0).abs() < 1e-6, "{beyond}: {east}");
    }
}

fn spot() -> impl Strategy<Value = (f64, f64)> {
    (0.0..60.0, 0.0..50.0)
}

proptest! {
    #[test]
    fn every_trench_lies_inside_with_its_margin(
        ways in prop::collection::vec(prop::collection::vec(spot(), 2..5), 1..6),
    ) {
        let job = yard();
        let paths: Vec<Vec<Place>> = ways.iter().map(|way| path(way)).collect();
        let (request, fixed, _) = request(&job, &paths);
        let property = &job.survey.boundary.polygon;
        let margin = request.margin.si();
        prop_assert!(request.corners().count() <= 12 + 4);
        for corner in request.corners() {
            prop_assert!(walked(corner, &fixed).distance(corner.at) < 0.03);
        }
        for pair in paths.iter().flat_map(|path| path.windows(2)) {
            for at in (0..=20).map(|i| pair[0].toward(pair[1], f64::from(i) / 20.0)) {
                // What lies within the margin and on the property lies in the area.
                for around in (0..8).map(|i| f64::from(i) * std::f64::consts::FRAC_PI_4) {
                    let (x, y) = (at.x + margin * 0.999 * around.cos(), at.y + margin * 0.999 * around.sin());
                    let point = Point::new(x, y);
                    let held = request.areas.iter().any(|area| {
                        let area = polygon(&area.outline);
                        area.contains(&point) || Euclidean.distance(&point, area.exterior()) < 0.01
                    });
                    prop_assert!(held || !property.contains(&point), "{point:?}");
                }
            }
        }
    }

    #[test]
    fn no_area_reaches_over_the_property_line(ways in prop::collection::vec(prop::collection::vec(spot(), 2..4), 1..4)) {
        let job = yard();
        let paths: Vec<Vec<Place>> = ways.iter().map(|way| path(way)).collect();
        let (request, ..) = request(&job, &paths);
        for area in &request.areas {
            let over = polygon(&area.outline).difference(&job.survey.boundary.polygon);
            prop_assert!(over.unsigned_area() < 1e-3);
            prop_assert!(corners::doubled_area(&area.outline) < 0.0, "clockwise");
        }
    }
}
