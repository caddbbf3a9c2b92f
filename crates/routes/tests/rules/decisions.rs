//! What people have decided about trenches is honoured, or named as a conflict.

use crate::support::checker;
use crate::support::yard::{At, Box4, Yard, area, building, feature, line};
use crate::{length_of, network, plain_costs};
use ground::Ground;
use job::{Finding, Job, Place};
use routes::{LineKind, Network, RouteError, Router};
use serde_json::{Value, json};
use std::ops::ControlFlow;

/// A main from (2, 1) to a valve at (18, 1), and a head beyond the valve.
fn yard(decisions: Vec<Value>) -> Yard {
    let mut yard = Yard::plain((20.0, 14.0), (18.0, 1.0), &[(19.0, 1.0)]);
    yard.more = decisions;
    yard
}

fn keep_out(at: Box4) -> Value {
    feature("K", area(at), json!({"kind": "keep_out"}))
}

fn corridor(at: Box4, favour: &str) -> Value {
    feature("W", area(at), json!({"kind": "corridor", "favour": favour}))
}

fn fixed(places: &[At], carries: &str) -> Value {
    feature(
        "F",
        line(places),
        json!({"kind": "fixed_trench", "carries": carries}),
    )
}

fn sound(job: &Job) -> Network {
    let network = network(job);
    assert_eq!(checker::faults(job, &network), Vec::<String>::new());
    network
}

/// Metres of stretches that lie in a box and carry a line.
fn metres_in(network: &Network, kind: &LineKind, at: Box4) -> f64 {
    let line = network.lines.iter().position(|l| l.kind == *kind).unwrap();
    let carries = network
        .stretches
        .iter()
        .filter(|s| s.carries.contains(&line));
    let holds = |p: Place| (at.0..=at.2).contains(&p.x) && (at.1..=at.3).contains(&p.y);
    let parts = carries.flat_map(|s| s.path.windows(2));
    let within = parts.filter(|p| holds(p[0]) && holds(p[1]));
    within.map(|p| p[0].distance(p[1])).sum()
}

fn refused(job: &Job) -> Vec<Finding> {
    let ground = Ground::new(job);
    let answer = plain_costs(|costs| {
        Router::new(job, &ground).route(costs, false, &|_| ControlFlow::Continue(()))
    });
    match answer {
        Err(RouteError::Unreachable(findings)) => findings,
        other => panic!("not refused: {other:?}"),
    }
}

#[test]
fn nothing_is_dug_where_nothing_may_be_dug() {
    let free = length_of(&sound(&yard(Vec::new()).job()), &LineKind::Main);
    assert!((free - 16.0).abs() < 1e-6, "{free}");
    // The way round the corners (8, 5) and (12, 5): the yard ends below.
    let job = yard(vec![keep_out((8.0, 0.0, 12.0, 5.0))]).job();
    let round = length_of(&sound(&job), &LineKind::Main);
    let expected = 6f64.hypot(4.0) * 2.0 + 4.0;
    assert!(
        (round - expected).abs() < 1e-3 * expected,
        "{round} instead of {expected}"
    );
}

#[test]
fn a_corridor_draws_trenches_in_as_far_as_its_favour_goes() {
    let strip = (4.0, 4.0, 16.0, 5.0);
    let main_in = |favour| {
        metres_in(
            &sound(&yard(vec![corridor(strip, favour)]).job()),
            &LineKind::Main,
            strip,
        )
    };
    assert!(main_in("0 %") < 1e-9);
    assert!(main_in("80 %") > 11.0, "{}", main_in("80 %"));
}

#[test]
fn a_fixed_trench_is_used_as_drawn_and_others_join_it() {
    let drawn = [(5.0, 6.0), (10.0, 7.0), (15.0, 6.0)];
    let job = yard(vec![fixed(&drawn, "main")]).job();
    let network = sound(&job);
    let main = network
        .lines
        .iter()
        .position(|l| l.kind == LineKind::Main)
        .unwrap();
    let on_it = |at: At| {
        let carries = network
            .stretches
            .iter()
            .filter(|s| s.carries.contains(&main));
        carries
            .flat_map(|s| &s.path)
            .any(|p| (p.x - at.0).hypot(p.y - at.1) < 1e-3)
    };
    assert!(drawn.into_iter().all(on_it), "{:#?}", network.stretches);
    assert!(
        network
            .findings
            .iter()
            .all(|f| !f.rule.starts_with("fixed"))
    );
}

#[test]
fn a_fixed_trench_that_leads_nowhere_is_named() {
    let job = yard(vec![fixed(&[(10.0, 12.0), (10.0, 13.0)], "main")]).job();
    let network = sound(&job);
    let about = |f: &&Finding| f.rule == "fixed-unused" && f.subject == "F";
    assert_eq!(
        network.findings.iter().filter(about).count(),
        1,
        "{:?}",
        network.findings
    );
    let main = length_of(&network, &LineKind::Main);
    assert!((main - 16.0).abs() < 1e-6, "{main}");
}

#[test]
fn a_fixed_trench_that_cannot_run_is_refused_by_the_name_of_what_is_in_its_way() {
    let drawn = fixed(&[(5.0, 6.0), (15.0, 6.0)], "main");
    let house = building("HOUSE", (8.0, 5.0, 10.0, 8.0));
    let patio = feature(
        "PATIO",
        area((8.0, 5.0, 10.0, 8.0)),
        json!({"kind": "surface", "surface": "pavers"}),
    );
    for (thing, rule, name) in [
        (house, "fixed-in-the-way", "HOUSE"),
        (patio, "fixed-under-paving", "PATIO"),
        (keep_out((8.0, 5.0, 10.0, 8.0)), "fixed-in-the-way", "K"),
    ] {
        let findings = refused(&yard(vec![drawn.clone(), thing]).job());
        let about = |f: &&Finding| f.rule == rule && f.subject == "F" && f.what.contains(name);
        assert_eq!(findings.iter().filter(about).count(), 1, "{findings:?}");
    }
}

#[test]
fn a_fixed_trench_in_a_clearance_runs_and_is_warned_of() {
    let drawn = fixed(&[(7.0, 4.9), (11.0, 4.9)], "main");
    let house = building("HOUSE", (8.0, 5.0, 10.0, 8.0));
    let job = yard(vec![drawn, house]).job();
    let ground = Ground::new(&job);
    let network = plain_costs(|costs| {
        Router::new(&job, &ground).route(costs, false, &|_| ControlFlow::Continue(()))
    })
    .unwrap();
    assert!(metres_in(&network, &LineKind::Main, (6.9, 4.8, 11.1, 5.0)) > 3.9);
    assert!(
        network
            .findings
            .iter()
            .any(|f| f.rule == "fixed-in-clearance" && f.subject == "F")
    );
}
