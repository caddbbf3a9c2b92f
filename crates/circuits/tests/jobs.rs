//! Whole jobs: what is proposed holds, and what is given is looked at.

#![allow(clippy::unwrap_used, missing_docs)]

mod support;

use circuits::{Grouping, group, regrouping, review};
use ground::Ground;
use job::{Finding, Job, Outlet, OutletKind, ReadOptions, Severity};
use quantity::{Flow, Length, Precipitation, Pressure, Ratio};
use std::collections::BTreeSet;
use support::{strip, stripped, with_costs};
use working::Ledger;

fn read(text: &str) -> Job {
    job::read(text, &ReadOptions::default()).unwrap().job
}

fn try_grouped(job: &Job) -> Result<(Grouping, Ledger), Vec<Finding>> {
    let mut ledger = Ledger::new();
    let ground = Ground::new(job);
    let grouping = with_costs(job, |costs| group(job, &ground, costs, &mut ledger))?;
    Ok((grouping.expect("heads without a circuit"), ledger))
}

fn grouped(job: &Job) -> Grouping {
    try_grouped(job).unwrap().0
}

fn reviewed(job: &Job) -> Vec<Finding> {
    let ground = Ground::new(job);
    let mut found = review(job, &ground);
    found.extend(with_costs(job, |costs| regrouping(job, &ground, costs)));
    found
}

/// What holds of the job with its circuits filled in.
fn holds(job: &Job, grouping: &Grouping) {
    let full = grouping.apply(job);
    assert_eq!(full.ungrouped().count(), 0);
    assert_eq!(
        full.ids().len(),
        job.ids().len() + 2 * grouping.circuits.len()
    );
    let tolerance = job.practice.circuits.rate_tolerance.value.to_one();
    for proposed in &grouping.circuits {
        let outlets: Vec<&Outlet> = full.outlets_of(&proposed.circuit).collect();
        let ids: Vec<&String> = outlets.iter().map(|o| &o.id).collect();
        assert_eq!(ids, proposed.outlets.iter().collect::<Vec<_>>());
        let flow: Flow = outlets.iter().map(|o| o.flow).sum();
        assert!(flow <= proposed.most * (1.0 + 1e-9), "{proposed:?}");
        assert!(flow <= job.system.source.test_flow * (1.0 + 1e-9));
        assert!(outlets.iter().all(|o| o.kind == outlets[0].kind));
        let rates: Vec<Option<Precipitation>> = outlets.iter().map(|o| o.precipitation).collect();
        assert!(rates.iter().all(|r| r.is_some() == rates[0].is_some()));
        let stated = || rates.iter().flatten().copied();
        if let (Some(low), Some(high)) = (
            stated().reduce(Precipitation::min),
            stated().reduce(Precipitation::max),
        ) {
            assert!((high - low) / high <= tolerance + 1e-9);
        }
        let manifold = job
            .system
            .manifolds
            .iter()
            .find(|m| m.id == proposed.manifold);
        assert_eq!(manifold.map(|m| m.at), Some(proposed.at));
        assert_eq!(
            full.valve_of(&proposed.circuit).map(|v| &v.id),
            Some(&proposed.valve)
        );
    }
    assert!(grouping.bound > 0.0 && grouping.bound <= grouping.cost.total());
    assert!((0.0..=1.0).contains(&grouping.together.to_one()));
}

#[test]
fn samples_and_demos_are_grouped() {
    for seed in 1..4 {
        for heads in [5, 12, 40] {
            let job = stripped(heads, seed);
            holds(&job, &grouped(&job));
        }
    }
    let garden = read(job::DEMO_GARDEN);
    let found = grouped(&garden);
    holds(&garden, &found);
    // Heads of two rates and drip points in three lots.
    assert!(found.circuits.len() >= 3);
    for text in [job::DEMO, job::DEMO_COURTYARD, job::DEMO_HILLSIDE] {
        let mut job = read(text);
        strip(&mut job);
        holds(&job, &grouped(&job));
    }
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    let job = stripped(60, 2);
    let bytes = || {
        let (grouping, ledger) = try_grouped(&job).unwrap();
        serde_json::to_string(&(grouping, ledger)).unwrap()
    };
    assert_eq!(bytes(), bytes());
}

#[test]
fn heads_that_name_a_circuit_keep_it_and_ids_do_not_collide() {
    let mut job = read(&job::sample(40, 1));
    let spared: BTreeSet<String> = job
        .system
        .circuits
        .iter()
        .skip(1)
        .map(|c| c.id.clone())
        .collect();
    let first = job.system.circuits.remove(0);
    let valve = job.system.valves.remove(0);
    job.system.manifolds.push(job::Manifold {
        id: "C2".to_owned(),
        at: valve.at,
    });
    let freed: Vec<String> = job.outlets_of(&first.id).map(|o| o.id.clone()).collect();
    for outlet in &mut job.system.outlets {
        if outlet.circuit == first.id {
            outlet.circuit.clear();
        }
    }
    let found = grouped(&job);
    holds(&job, &found);
    let named: Vec<String> = found
        .circuits
        .iter()
        .flat_map(|c| c.outlets.clone())
        .collect();
    assert_eq!(BTreeSet::from_iter(named), BTreeSet::from_iter(freed));
    assert!(
        found
            .circuits
            .iter()
            .all(|c| c.circuit != "C2" && !spared.contains(&c.circuit))
    );
}

#[test]
fn a_head_that_no_circuit_can_feed_is_named_with_what_there_is() {
    let mut job = stripped(12, 1);
    job.system.outlets[3].pressure = Pressure::psi(86.0);
    job.system.outlets[5].flow = Flow::gpm(70.0);
    let found = try_grouped(&job).unwrap_err();
    let subjects: Vec<&str> = found.iter().map(|f| f.subject.as_str()).collect();
    let wanted = [3, 5].map(|i: usize| job.system.outlets[i].id.as_str());
    assert_eq!(subjects, wanted);
    assert!(
        found
            .iter()
            .all(|f| f.severity == Severity::Error && f.rule == "head-beyond-source")
    );
    assert!(
        found[0].what.contains("pressure that its heads need"),
        "{found:#?}"
    );
}

#[test]
fn high_ground_and_weak_sources_make_smaller_circuits() {
    let mut job = stripped(40, 1);
    let easy = grouped(&job);
    job.system.source.static_pressure = Pressure::psi(56.0);
    job.system.source.residual_pressure = Pressure::psi(30.0);
    let weak = grouped(&job);
    for spot in &mut job.survey.spots {
        spot.elevation += Length::m(0.1 * spot.at.y);
    }
    let steep = grouped(&job);
    let least = |g: &Grouping| g.circuits.iter().map(|c| c.most).reduce(Flow::min).unwrap();
    assert!(least(&weak) < least(&easy));
    assert!(least(&steep) < least(&weak));
    assert!(steep.circuits.len() > easy.circuits.len());
    assert!(steep.circuits.iter().any(|c| c.limited_by.is_some()));
}

#[test]
fn every_figure_has_its_working() {
    let (grouping, ledger) = try_grouped(&read(job::DEMO_GARDEN)).unwrap();
    for figure in [
        "cost", "bound", "gap", "trench", "laterals", "valves", "main", "wire", "together",
    ] {
        assert!(
            ledger.get(&format!("grouping.{figure}")).is_some(),
            "{figure}"
        );
    }
    for circuit in &grouping.circuits {
        for figure in ["flow", "most", "laterals", "why"] {
            let id = format!("grouping.{}.{figure}", circuit.circuit);
            assert!(ledger.get(&id).is_some(), "{id}");
        }
    }
    for (id, working) in ledger.iter() {
        for input in &working.inputs {
            if let Some(of) = input.from.strip_prefix("figure ") {
                assert!(ledger.get(of).is_some(), "{id} names {of}");
            }
        }
    }
}

/// The site elsewhere and turned: ways are looked for in other directions, so the cost may differ by a
/// fiftieth.
#[test]
fn moving_and_turning_the_site_keeps_the_cost() {
    let job = stripped(30, 2);
    let here = grouped(&job).cost.total();
    for (angle, x, y) in [(0.0, 400.0, -70.0), (0.7, 0.0, 0.0), (2.5, 90.0, 33.0)] {
        let there = grouped(&turned(&job, angle, x, y)).cost.total();
        assert!((there / here - 1.0).abs() < 0.02, "{angle}: {here} {there}");
    }
}

fn turned(job: &Job, angle: f64, x: f64, y: f64) -> Job {
    use geo::{Coord, MapCoords};
    let (sin, cos) = f64::sin_cos(angle);
    let turn = |c: Coord| Coord {
        x: c.x * cos - c.y * sin + x,
        y: c.x * sin + c.y * cos + y,
    };
    let place = |p: &mut job::Place| *p = turn((*p).into()).into();
    let mut job = job.clone();
    let survey = &mut job.survey;
    survey.boundary.polygon = survey.boundary.polygon.map_coords(turn);
    for polygon in survey
        .surfaces
        .iter_mut()
        .filter_map(|s| s.polygon.as_mut())
        .chain(survey.soils.iter_mut().filter_map(|s| s.polygon.as_mut()))
        .chain(survey.steeps.iter_mut().map(|s| &mut s.polygon))
    {
        *polygon = polygon.map_coords(turn);
    }
    for obstacle in &mut survey.obstacles {
        match &mut obstacle.shape {
            job::Shape::Area(area) => *area = area.map_coords(turn),
            job::Shape::Line(line) => *line = line.map_coords(turn),
        }
    }
    survey
        .utilities
        .iter_mut()
        .for_each(|u| u.line = u.line.map_coords(turn));
    survey.trees.iter_mut().for_each(|t| place(&mut t.at));
    survey.spots.iter_mut().for_each(|s| place(&mut s.at));
    survey.accesses.iter_mut().for_each(|a| place(&mut a.at));
    survey.gates.iter_mut().for_each(|g| {
        place(&mut g.from);
        place(&mut g.to);
    });
    let system = &mut job.system;
    place(&mut system.source.at);
    place(&mut system.backflow.at);
    system.controller.iter_mut().for_each(|c| place(&mut c.at));
    system.manifolds.iter_mut().for_each(|m| place(&mut m.at));
    system.outlets.iter_mut().for_each(|o| place(&mut o.at));
    system
        .cables
        .iter_mut()
        .flat_map(|c| &mut c.points)
        .for_each(place);
    job
}

fn rules(found: &[Finding]) -> Vec<&str> {
    found.iter().map(|f| f.rule.as_str()).collect()
}

#[test]
fn given_circuits_that_mix_or_take_too_much_are_named() {
    let mut job = read(&job::sample(24, 1));
    job.practice.circuits.worth_regrouping.value = Ratio::one(1.0);
    assert_eq!(rules(&reviewed(&job)), Vec::<&str>::new());
    let circuit = job.system.circuits[0].id.clone();
    let of_it = |o: &&mut Outlet| o.circuit == circuit;
    let mut own = job.system.outlets.iter_mut().filter(of_it);
    own.next().unwrap().kind = OutletKind::Drip;
    own.next().unwrap().precipitation = Some(Precipitation::in_per_h(0.4));
    own.next().unwrap().precipitation = Some(Precipitation::in_per_h(1.6));
    let found = reviewed(&job);
    assert_eq!(rules(&found), ["kinds-mixed", "rates-mixed"]);
    assert!(found[1].what.contains("0.40 in/h") && found[1].what.contains("1.60 in/h"));
    job.system
        .outlets
        .iter_mut()
        .filter(of_it)
        .for_each(|o| o.flow = o.flow * 5.0);
    let found = reviewed(&job);
    assert!(rules(&found).contains(&"circuit-over-flow"), "{found:#?}");
    assert!(found.iter().all(|f| f.severity == Severity::Caution));
}

#[test]
fn a_regrouping_is_spoken_of_only_where_it_saves() {
    let bare = stripped(48, 3);
    let mut job = grouped(&bare).apply(&bare);
    assert_eq!(rules(&reviewed(&job)), Vec::<&str>::new());
    job.practice.circuits.worth_regrouping.value = Ratio::one(0.01);
    // Heads dealt out in turn, so that each circuit runs all over the property.
    let ids: Vec<String> = job.system.circuits.iter().map(|c| c.id.clone()).collect();
    for (i, outlet) in job.system.outlets.iter_mut().enumerate() {
        outlet.circuit.clone_from(&ids[i % ids.len()]);
    }
    let found = reviewed(&job);
    assert!(rules(&found).contains(&"regrouping-saves"), "{found:#?}");
    job.practice.circuits.worth_regrouping.value = Ratio::one(0.9);
    assert!(!rules(&reviewed(&job)).contains(&"regrouping-saves"));
}
