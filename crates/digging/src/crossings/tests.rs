//! Meetings with services, by hand-worked cases.

use super::{Meeting, Passes, Verdict, separation};
use crate::{Content, Digging, dig, fixture};
use job::{Job, Place};
use proptest::prelude::*;
use quantity::{Angle, Length, Units};
use routes::{Crossing, Network, NodeKind, StretchId, Zone};
use working::{Ledger, Value};

fn plan(job: &Job, network: &Network) -> (Digging, Ledger) {
    let mut ledger = Ledger::new();
    let digging = dig(job, network, &fixture::water(network), &mut ledger);
    (digging, ledger)
}

/// One lateral that crosses the gas line G1, which runs along y = 5 m.
fn crossing() -> Network {
    let mut network = fixture::polyline(&[(0.0, 0.0), (0.0, 10.0)]);
    network.stretches[0].ground.zones = vec![Zone::Utility("G1".into())];
    network.crossings = vec![Crossing {
        stretch: StretchId(0),
        utility: "G1".into(),
        at: Place::new(0.0, 5.0),
        angle: Angle::deg(90.0),
    }];
    network
}

fn job(depth: Option<f64>) -> Job {
    let mut job = fixture::job();
    job.survey.utilities[0].depth = depth.map(Length::inch);
    job
}

fn pipe(cover: f64, outside: f64) -> Content {
    Content {
        line: 0,
        what: "pipe".into(),
        outside: Length::inch(outside),
        count: 1,
        middle: Length::ZERO,
        cover: Length::inch(cover),
    }
}

#[test]
fn separations_over_under_and_into_each_other() {
    let inch = Length::inch;
    let of = |cover, depth, width| {
        let found = separation(&[pipe(cover, 2.0)], Some(inch(depth)), width)?;
        Some((found.clear.to_in(), found.passes))
    };
    let near = |found: Option<(f64, Passes)>, clear: f64, passes| {
        let (got, side) = found.unwrap();
        assert!(
            (got - clear).abs() < 1e-9 && side == passes,
            "{got} {side:?}"
        );
    };
    near(of(8.0, 24.0, Some(inch(1.0))), 14.0, Passes::Over);
    near(of(8.0, 24.0, None), 14.0, Passes::Over);
    near(of(30.0, 18.0, Some(inch(4.0))), 8.0, Passes::Under);
    near(of(17.0, 18.0, Some(inch(4.0))), -1.0, Passes::Over);
    assert_eq!(of(30.0, 18.0, None), None);
    assert_eq!(separation(&[pipe(8.0, 2.0)], None, Some(inch(1.0))), None);
    let two = [pipe(8.0, 2.0), pipe(10.0, 2.0)];
    let found = separation(&two, Some(inch(24.0)), None).unwrap();
    assert!((found.clear.to_in() - 12.0).abs() < 1e-9);
}

#[test]
fn a_deep_service_is_passed_over_and_said_to_be_enough() {
    let (digging, ledger) = plan(&job(Some(24.0)), &crossing());
    let check = &digging.crossings[0];
    assert_eq!(
        (check.meeting, check.verdict),
        (Meeting::Crosses, Verdict::Enough)
    );
    // 24 in - (8 in of cover + 1.189 in); within the tolerance of 24 in it is exposed all the same.
    let clear = check.vertical.as_ref().unwrap().clear;
    assert!((clear.to_in() - 14.811).abs() < 1e-9);
    assert!(check.expose && check.expose_why.contains("14.81 in"));
    let Value::Amount(told) = &ledger.get("crossing.1.vertical").unwrap().value else {
        panic!("a separation is an amount");
    };
    assert_eq!(told.show(Units::Us), "14.81 in");
    assert!(
        !digging
            .findings
            .iter()
            .any(|f| f.rule == "service-too-close")
    );
}

#[test]
fn a_shallow_service_is_too_close_and_the_depths_that_would_do_are_named() {
    let (digging, _) = plan(&job(Some(15.0)), &crossing());
    assert_eq!(digging.crossings[0].verdict, Verdict::TooClose);
    let finding = digging
        .findings
        .iter()
        .find(|f| f.rule == "service-too-close")
        .unwrap();
    assert!(
        finding.what.contains("lies 5.81 in over it, 12 in wanted"),
        "{finding:?}"
    );
    // 15 - 12 in; 15 + 1 + 12 in.
    assert!(finding.mend.contains("at most 3 in deep"), "{finding:?}");
    assert!(finding.mend.contains("at least 28 in deep"), "{finding:?}");
}

#[test]
fn what_is_not_known_is_never_enough() {
    let (digging, ledger) = plan(&job(None), &crossing());
    let check = &digging.crossings[0];
    assert_eq!(check.verdict, Verdict::Unknown);
    assert!(check.expose && check.vertical.is_none());
    assert!(
        digging
            .findings
            .iter()
            .any(|f| f.rule == "service-separation-unknown" && f.subject == "G1")
    );
    let told = &ledger.get("crossing.1.vertical").unwrap().value;
    assert_eq!(*told, Value::Word("unknown".into()));
    let mut lost = job(Some(60.0));
    lost.survey.utilities[0].located = false;
    let (digging, _) = plan(&lost, &crossing());
    assert_eq!(digging.crossings[0].verdict, Verdict::Unknown);
    assert!(digging.crossings[0].expose_why.contains("located"));
}

#[test]
fn a_far_service_need_not_be_exposed() {
    let (digging, _) = plan(&job(Some(60.0)), &crossing());
    assert!(!digging.crossings[0].expose);
}

#[test]
fn a_trench_along_a_service_is_measured_between_faces() {
    let along = |y: f64| {
        let mut network = fixture::polyline(&[(0.0, y), (10.0, y)]);
        network.stretches[0].ground.zones = vec![Zone::Utility("G1".into())];
        network
    };
    let (digging, ledger) = plan(&job(Some(12.0)), &along(4.8));
    let check = &digging.crossings[0];
    assert_eq!(check.meeting, Meeting::Along);
    let width = digging.digs[0].section.width;
    let expected = Length::m(0.2) - width * 0.5 - Length::inch(0.5);
    assert!((check.horizontal.unwrap() - expected).to_m().abs() < 1e-9);
    assert!(check.angle.to_deg().abs() < 1e-9);
    assert_eq!(check.verdict, Verdict::TooClose);
    assert!(ledger.get("crossing.1.horizontal").is_some());
    let (unknown, _) = plan(&job(None), &along(4.8));
    assert_eq!(unknown.crossings[0].verdict, Verdict::Unknown);
    let (far, _) = plan(&job(None), &along(4.45));
    assert_eq!(far.crossings[0].verdict, Verdict::Enough);
}

#[test]
fn a_stretch_that_leads_to_a_crossing_is_not_listed_apart() {
    let mut network = fixture::polyline(&[(-3.0, 4.9), (0.0, 4.9), (0.0, 10.0)]);
    for stretch in &mut network.stretches {
        stretch.ground.zones = vec![Zone::Utility("G1".into())];
    }
    network.crossings = vec![Crossing {
        stretch: StretchId(1),
        ..crossing().crossings[0].clone()
    }];
    let (digging, _) = plan(&job(None), &network);
    // The first stretch runs along the service over all its length: nearest is its far end.
    assert_eq!(digging.crossings.len(), 2);
    network.stretches[0].path[0] = Place::new(-3.0, 2.0);
    let (digging, _) = plan(&job(None), &network);
    assert_eq!(digging.crossings.len(), 1);
}

#[test]
fn heads_in_tolerance_zones_and_hand_zones_are_listed() {
    let mut network = crossing();
    network.nodes[1].what = NodeKind::Outlet("H9".into());
    network.nodes[1].at = Place::new(0.0, 5.4);
    let (digging, ledger) = plan(&job(None), &network);
    let near = &digging.near_services[0];
    assert_eq!(
        (near.component.as_str(), near.utility.as_str()),
        ("H9", "G1")
    );
    let expected = Length::m(0.4) - Length::inch(0.5);
    assert!((near.horizontal - expected).to_m().abs() < 1e-9);
    let zone = &digging.hand_zones[0];
    assert_eq!(zone.zone, Zone::Utility("G1".into()));
    assert_eq!(zone.length, Length::m(10.0));
    assert!(ledger.get("hand_zone.1.length").is_some());
    assert!(
        digging
            .findings
            .iter()
            .any(|f| f.rule == "component-near-service" && f.what.contains("H9"))
    );
}

proptest! {
    /// A service that lies deeper is never nearer to what passes over it, and knowing less never
    /// makes a separation.
    #[test]
    fn deeper_services_are_never_nearer_from_above(
        cover in 1.0..40.0_f64, outside in 0.5..6.0_f64, depth in 1.0..80.0_f64,
        width in 0.5..12.0_f64, deeper in 0.0..20.0_f64,
    ) {
        let things = [pipe(cover, outside)];
        let at = |depth: f64| {
            separation(&things, Some(Length::inch(depth)), Some(Length::inch(width))).unwrap()
        };
        let (now, then) = (at(depth), at(depth + deeper));
        if now.passes == Passes::Over {
            prop_assert!(then.clear >= now.clear);
        }
        if let Some(blind) = separation(&things, Some(Length::inch(depth)), None) {
            prop_assert_eq!(blind.clear, now.clear);
        }
    }
}
