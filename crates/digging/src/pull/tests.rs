//! Pulled pipe against published and computed values, and what always holds of it.

use super::scoring::{Scoring, grade};
use super::strength::{
    allowable_tension, bend_radius, bend_ratio, force_per_metre, scratch_limit, tension,
};
use super::track::rounding;
use super::{PitKind, strength};
use crate::{Digging, dig, fixture};
use job::practice::PipeMaterial;
use job::{Job, MethodId, Place};
use proptest::prelude::*;
use quantity::{Angle, Force, Length, Money, Pressure, Ratio};
use routes::{Network, NodeId, NodeKind};
use working::Ledger;

fn near(a: f64, b: f64, share: f64) -> bool {
    (a - b).abs() <= share * b.abs()
}

/// A job in which nothing else is left than the walk-behind plow.
fn job() -> Job {
    let mut job = fixture::job();
    for (id, method) in &mut job.prices.method {
        if id.0 != "walk_plow" {
            method.max_depth.value = Length::inch(1.0);
        }
    }
    job
}

fn plan(job: &Job, network: &Network) -> (Digging, Ledger) {
    let mut ledger = Ledger::new();
    let digging = dig(job, network, &fixture::water(network), &mut ledger);
    (digging, ledger)
}

fn kinds(digging: &Digging) -> Vec<PitKind> {
    digging.pits().iter().map(|p| p.kind).collect()
}

#[test]
fn allowable_tensions_of_the_reference() {
    // ASTM F1804 with fy = 0.40 and ft = 0.95 at DR 11: yield in psi, outside in inches, lbf.
    let rows = [
        (3200.0, 2.375, 1780.84),
        (3200.0, 1.315, 545.946),
        (2600.0, 1.05, 282.813),
        (3200.0, 1.66, 869.99),
    ];
    let rules = fixture::practice().pull;
    let of = |ty, outside| {
        let (fy, ft) = (rules.yield_factor.value, rules.time_factor.value);
        allowable_tension(ty, fy, ft, outside, Ratio::one(11.0))
    };
    for (ty, outside, expected) in rows {
        let force = of(Pressure::psi(ty), Length::inch(outside));
        assert!(near(force.to_lbf(), expected, 1e-5), "{force:?}");
    }
    let force = of(Pressure::mpa(22.0), Length::mm(63.0));
    assert!(near(force.to_kn(), 8.61493, 1e-5), "{force:?}");
}

#[test]
fn bend_radii_of_the_reference() {
    let rules = fixture::practice().pull;
    let rows = [
        (7.0, 20.0),
        (7.3, 20.0),
        (9.0, 20.0),
        (11.0, 25.0),
        (13.5, 25.0),
        (17.0, 27.0),
        (21.0, 27.0),
        (26.0, 34.0),
        (32.5, 42.0),
        (41.0, 52.0),
    ];
    for (dr, expected) in rows {
        let ratio = bend_ratio(&rules.pe, Ratio::one(dr)).unwrap();
        assert_eq!(ratio, Ratio::one(expected), "{dr}");
    }
    assert_eq!(bend_ratio(&rules.pe, Ratio::one(50.0)), None);
    let radius = |outside| bend_radius(&rules, &rules.pe, outside, Ratio::one(11.0)).unwrap();
    assert!(near(radius(Length::inch(2.375)).to_ft(), 4.94792, 1e-5));
    assert!(near(radius(Length::mm(63.0)).to_m(), 1.575, 1e-9));
    let mut joined = rules.pe.clone();
    joined.joints.value = 1;
    let fitted = bend_radius(&rules, &joined, Length::inch(1.315), Ratio::one(11.0)).unwrap();
    assert!(near(fitted.to_ft(), 10.9583, 1e-5));
}

#[test]
fn scratch_limits_of_the_reference() {
    let rules = fixture::practice().pull;
    let limit = |wall| scratch_limit(&rules, wall);
    assert!(near(limit(Length::mm(3.0)).to_mm(), 0.3, 1e-9));
    assert!(near(limit(Length::inch(0.091)).to_in(), 0.0091, 1e-9));
}

#[test]
fn a_quarter_turn_holds_like_a_rope_on_a_bollard() {
    let turn = Angle::deg(90.0);
    let legs = [Length::m(10.0), Length::m(2.0)];
    let pulled = tension(Force::n(5.0), &legs, &[turn], Ratio::one(0.5));
    // 10 m first: 50 N e^(0.5 π/2) + 10 N; the other way it is less.
    let expected = 50.0 * (0.25 * std::f64::consts::PI).exp() + 10.0;
    assert!(near(pulled.to_n(), expected, 1e-12));
}

#[test]
fn an_arc_rounds_a_corner_within_its_legs_and_near_it() {
    // A square corner with 2 m of tangent: R = 2 m; within 0.5 m of it: R = 0.5 / (√2 - 1).
    let far = Length::m(1e9);
    let square = Angle::deg(90.0);
    assert!(near(
        rounding(Length::m(2.0), far, square).to_m(),
        2.0,
        1e-12
    ));
    let by_corner = rounding(far, Length::m(0.5), square).to_m();
    assert!(near(by_corner, 0.5 / (2.0_f64.sqrt() - 1.0), 1e-12));
    assert_eq!(rounding(far, far, Angle::deg(180.0)), Length::ZERO);
    assert!(rounding(far, far, Angle::ZERO).to_m().is_infinite());
}

#[test]
fn a_short_pull_has_a_pit_at_each_end_and_all_its_figures() {
    let (digging, ledger) = plan(&job(), &fixture::polyline(&[(0.0, 0.0), (20.0, 0.0)]));
    let dug = &digging.digs[0];
    assert_eq!(dug.method, MethodId("walk_plow".into()));
    assert_eq!(kinds(&digging), [PitKind::End, PitKind::End]);
    let pull = dug.pull.as_ref().unwrap();
    let pipe = &pull.pipes[0];
    assert!(pipe.tension > Force::ZERO && pipe.tension <= pipe.allowable);
    // 25 × 1.189 in is less than the 4 ft that the machine pulls round.
    assert!(near(pipe.bend_radius.to_in(), 25.0 * 1.189, 1e-9));
    assert_eq!(pull.least_radius, Length::ft(4.0));
    // The wall of the fixture's pipe is (1.189 - 1) / 2 in.
    assert!(near(pipe.scratch.to_in(), 0.00945, 1e-6));
    let bank: f64 = pull.pits.iter().map(|p| p.bank.to_m3()).sum();
    assert!(near(dug.earth.bank.to_m3(), bank, 1e-9));
    let out = dug.earth.backfill + dug.earth.surplus;
    assert!(near(out.to_m3(), bank, 1e-9));
    assert!(pull.pit_cost > Money::ZERO && dug.hours > pull.pit_hours);
    assert!(dug.machine_hours() < dug.hours);
    for name in [
        "tension",
        "allowable_tension",
        "longest_pull",
        "bend_radius",
        "scratch",
        "scoring",
        "pits",
        "pit_hours",
        "bank",
        "hours",
    ] {
        assert!(
            ledger.get(&format!("stretch.S1.{name}")).is_some(),
            "{name}"
        );
    }
    for (id, working) in ledger.iter() {
        for input in &working.inputs {
            if let Some(other) = input.from.strip_prefix("figure ") {
                assert!(ledger.get(other).is_some(), "{id} refers to {other}");
            }
        }
    }
}

#[test]
fn a_pull_longer_than_the_coil_has_a_joint_in_a_pit() {
    let (digging, _) = plan(&job(), &fixture::polyline(&[(0.0, 0.0), (50.0, 0.0)]));
    assert_eq!(
        kinds(&digging),
        [PitKind::Joint, PitKind::End, PitKind::End]
    );
    let pull = digging.digs[0].pull.as_ref().unwrap();
    assert!(near(pull.length.to_m(), 25.0, 1e-9));
    assert_eq!(pull.longest_pull, Some(Length::ft(100.0)));
}

#[test]
fn tension_divides_a_run_and_rejects_what_pits_do_not_help() {
    let mut job = job();
    let straight = fixture::polyline(&[(0.0, 0.0), (28.0, 0.0)]);
    job.practice.pull.soil_drag.value = Pressure::pa(1200.0);
    let (digging, _) = plan(&job, &straight);
    assert!(kinds(&digging).contains(&PitKind::Tension), "{digging:?}");
    let pipe = &digging.digs[0].pull.as_ref().unwrap().pipes[0];
    assert!(pipe.tension <= pipe.allowable && pipe.longest_pull < Length::m(28.0));
    job.practice.pull.soil_drag.value = Pressure::kpa(100.0);
    let (digging, _) = plan(&job, &straight);
    let rejected = digging.digs[0].rejected.iter();
    let why = rejected
        .filter(|r| r.method.0 == "walk_plow")
        .map(|r| &r.why);
    let why: String = why.cloned().collect();
    assert!(
        why.contains("pits would be nearer than 10.0 ft") && why.contains("lbf"),
        "{why}"
    );
    assert!(digging.digs[0].pull.is_none());
}

#[test]
fn pits_at_heads_are_shared_and_counted_once() {
    let mut network = fixture::polyline(&[(0.0, 0.0), (8.0, 0.0), (16.0, 0.0), (24.0, 0.0)]);
    network.nodes[1].what = NodeKind::Outlet("H1".into());
    network.nodes[2].what = NodeKind::Change;
    let (digging, ledger) = plan(&job(), &network);
    let nodes: Vec<_> = digging.pits().iter().map(|p| (p.node, p.kind)).collect();
    let n = |i| Some(NodeId(i));
    assert_eq!(
        nodes,
        [
            (n(0), PitKind::End),
            (n(1), PitKind::Tap),
            (n(3), PitKind::End)
        ]
    );
    let whole: f64 = digging.pits().iter().map(|p| p.bank.to_m3()).sum();
    let told: f64 = digging.digs.iter().map(|d| d.earth.bank.to_m3()).sum();
    assert!(near(told, whole, 1e-9));
    // One pull goes through all three stretches.
    for dug in &digging.digs {
        assert!(near(dug.pull.as_ref().unwrap().length.to_m(), 24.0, 1e-9));
    }
    assert!(ledger.get("stretch.S3.pits").is_some());
}

#[test]
fn a_neighbour_that_is_dug_leaves_its_share_of_the_pit_to_the_pulled_one() {
    let mut network = fixture::polyline(&[(0.0, 0.0), (120.0, 0.0), (124.0, 0.0)]);
    network.nodes[1].what = NodeKind::Change;
    network.stretches[1].ground.zones = vec![routes::Zone::Utility("G1".into())];
    let (digging, _) = plan(&fixture::job(), &network);
    let Some(pull) = &digging.digs[0].pull else {
        panic!("{:?}", digging.digs[0]);
    };
    assert!(pull.pits.iter().all(|p| p.share == Ratio::one(1.0)));
}

#[test]
fn a_turn_that_pipe_and_machine_do_not_go_round_is_a_pit() {
    let mut network = fixture::polyline(&[(0.0, 0.0), (20.0, 0.0)]);
    let bent = |y: f64| {
        vec![
            Place::new(0.0, 0.0),
            Place::new(10.0, y),
            Place::new(20.0, 0.0),
        ]
    };
    network.stretches[0].path = bent(1.0);
    let (gentle, _) = plan(&job(), &network);
    assert!(!kinds(&gentle).contains(&PitKind::Turn));
    network.stretches[0].path = bent(10.0);
    network.stretches[0].length = Length::m(2.0 * 200.0_f64.sqrt());
    let (sharp, _) = plan(&job(), &network);
    assert!(kinds(&sharp).contains(&PitKind::Turn));
}

#[test]
fn few_stones_come_with_precautions_and_many_keep_the_pipe_out() {
    let mut network = fixture::polyline(&[(0.0, 0.0), (20.0, 0.0)]);
    let (few, _) = plan(&job(), &network);
    let pull = few.digs[0].pull.as_ref().unwrap();
    assert_eq!(pull.scoring, Scoring::Few);
    let whats: Vec<(&str, bool)> = pull
        .precautions
        .iter()
        .map(|p| (p.what.as_str(), p.possible))
        .collect();
    assert!(whats[0].0.contains("first pass") && whats[0].1);
    assert!(pull.precautions[0].cost > Money::ZERO);
    assert_eq!(*whats.last().unwrap(), ("bedding of sand", false));
    assert!(
        few.findings
            .iter()
            .any(|f| f.rule == "stones-at-pulled-pipe")
    );
    network.stretches[0].ground.soil.coarse = Ratio::percent(2.0);
    let (clean, _) = plan(&job(), &network);
    let pull = clean.digs[0].pull.as_ref().unwrap();
    assert!(pull.scoring == Scoring::Clean && pull.precautions.is_empty());
    network.stretches[0].ground.soil.coarse = Ratio::percent(12.0);
    let (many, _) = plan(&job(), &network);
    assert!(many.digs[0].pull.is_none());
}

#[test]
fn the_next_heavier_wall_has_no_smaller_bore() {
    let mut job = job();
    job.prices
        .method
        .get_mut(&MethodId("walk_plow".into()))
        .unwrap()
        .max_outside = None;
    let (digging, _) = plan(&job, &fixture::polyline(&[(0.0, 0.0), (20.0, 0.0)]));
    let precautions = &digging.digs[0].pull.as_ref().unwrap().precautions;
    let heavier = precautions.iter().find(|p| p.what.contains("heavier wall"));
    let heavier = heavier.unwrap();
    assert!(
        heavier.what.contains("DR 13.5 (125 psi) 1 in"),
        "{}",
        heavier.what
    );
}

fn outside() -> impl Strategy<Value = f64> {
    10.0..200.0_f64
}

proptest! {
    #[test]
    fn a_longer_run_is_never_under_less_tension(
        legs in prop::collection::vec(0.1..40.0_f64, 1..8),
        turns in prop::collection::vec(0.0..1.5_f64, 8),
        more in 0.0..20.0_f64,
        (per_metre, friction) in (0.1..50.0_f64, 0.0..1.0_f64),
    ) {
        let legs: Vec<Length> = legs.into_iter().map(Length::m).collect();
        let turns: Vec<Angle> = turns.into_iter().map(Angle::rad).collect();
        let inner = &turns[..legs.len() - 1];
        let (force, friction) = (Force::n(per_metre), Ratio::one(friction));
        let now = tension(force, &legs, inner, friction);
        let mut longer = legs.clone();
        *longer.last_mut().unwrap() += Length::m(more);
        prop_assert!(tension(force, &longer, inner, friction) >= now);
        let mut further = legs.clone();
        further.push(Length::m(more));
        prop_assert!(tension(force, &further, &turns[..legs.len()], friction) >= now);
    }

    #[test]
    fn more_or_larger_stones_are_never_better(
        (coarse, more) in (0.0..1.0_f64, 0.0..0.5_f64),
        (stone, larger) in (0.0..100.0_f64, 0.0..100.0_f64),
        wall in 0.5..10.0_f64,
    ) {
        let rules = fixture::practice().pull.stones;
        let at = |coarse: f64, stone: f64| {
            let (stone, wall) = (Some(Length::mm(stone)), Some(Length::mm(wall)));
            grade(&rules, Ratio::one(coarse), stone, wall)
        };
        prop_assert!(at(coarse + more, stone) >= at(coarse, stone));
        prop_assert!(at(coarse, stone + larger) >= at(coarse, stone));
        let unknown = |coarse| grade(&rules, Ratio::one(coarse), None, None);
        prop_assert!(unknown(coarse + more) >= unknown(coarse));
        prop_assert!(at(coarse, stone) >= unknown(coarse));
    }

    #[test]
    fn a_larger_pipe_is_never_bent_tighter_nor_stands_less(
        (dr, outside, more) in (7.0..41.0_f64, outside(), 0.0..100.0_f64),
    ) {
        let rules = fixture::practice().pull;
        for material in [PipeMaterial::Pe, PipeMaterial::Pvc] {
            let of = |mm: f64| {
                let stands = rules.of(material).unwrap();
                bend_radius(&rules, stands, Length::mm(mm), Ratio::one(dr)).unwrap()
            };
            prop_assert!(of(outside + more) >= of(outside));
        }
        let stands = |mm: f64| {
            let one = Ratio::one(1.0);
            allowable_tension(Pressure::mpa(20.0), one, one, Length::mm(mm), Ratio::one(dr))
        };
        prop_assert!(stands(outside + more) >= stands(outside));
    }

    #[test]
    fn a_larger_or_steeper_pipe_never_pulls_easier(
        (outside, more) in (outside(), 0.0..50.0_f64),
        (slope, steeper) in (0.0..0.5_f64, 0.0..0.3_f64),
    ) {
        let rules = fixture::practice().pull;
        let of = |mm: f64, slope: f64| {
            let (outside, inside) = (Length::mm(mm), Length::mm(mm * 0.8));
            force_per_metre(&rules, Ratio::one(0.95), (outside, inside), Ratio::one(slope))
        };
        prop_assert!(of(outside + more, slope) >= of(outside, slope));
        prop_assert!(of(outside, slope + steeper) >= of(outside, slope));
    }

    /// Whatever the run, no pull is under more tension than its pipe stands, nor longer than the coil;
    /// every pit counts once.
    #[test]
    fn pulls_of_any_run_hold(
        lengths in prop::collection::vec(0.5..60.0_f64, 1..6),
        bends in prop::collection::vec(-4.0..4.0_f64, 6),
        drag in 50.0..2000.0_f64,
    ) {
        let mut job = job();
        job.practice.pull.soil_drag.value = Pressure::pa(drag);
        let mut points = vec![(0.0, 0.0)];
        for (length, bend) in lengths.iter().zip(&bends) {
            let last = points[points.len() - 1];
            points.push((last.0 + length, last.1 + bend));
        }
        let network = fixture::polyline(&points);
        let (digging, _) = plan(&job, &network);
        for dug in &digging.digs {
            let Some(pull) = &dug.pull else { continue };
            for pipe in &pull.pipes {
                prop_assert!(pipe.tension <= pipe.allowable * 1.000_001);
            }
            prop_assert!(pull.length <= Length::ft(100.0) * 1.000_001);
        }
        let once: f64 = digging.pits().iter().map(|p| p.bank.to_m3()).sum();
        let shares = digging.digs.iter().filter_map(|d| d.pull.as_ref()).flat_map(|p| &p.pits);
        let shared: f64 = shares.map(|p| p.bank.to_m3() * p.share.to_one()).sum();
        prop_assert!((once - shared).abs() < 1e-9);
    }
}

#[test]
fn strands_need_a_known_wall() {
    let job = job();
    let layout = crate::contents::arrange(&job.practice, vec![]);
    assert!(strength::strands(&job, Ratio::ZERO, &layout).is_empty());
}
