//! Which ground a machine gets to: wider bodies never to more, gates as wide as they say.

#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../../routes/tests/support/cases.rs"]
mod cases;
#[allow(dead_code)] // other suites take the rest
#[path = "../../routes/tests/support/yard.rs"]
mod yard;

use cases::cases;
use geo::{Area, BooleanOps, Coord};
use ground::{Ground, Reach};
use job::Job;
use proptest::prelude::*;
use quantity::Length;
use serde_json::json;
use yard::{At, Box4, Yard, building, feature, line, yards};

/// A job with the body widths of two methods set, in inches, all others left as they are.
fn with_widths(yard: &Yard, widths: &[f64]) -> Job {
    let mut job = yard.job();
    let kinds = [
        job::prices::MethodKind::Trench,
        job::prices::MethodKind::Pull,
    ];
    let movable = job
        .prices
        .method
        .values_mut()
        .filter(|m| kinds.contains(&m.kind));
    let mut used = 0;
    for (method, width) in movable.zip(widths.iter().cycle()) {
        method.body_width.value = Length::inch(*width);
        used += 1;
    }
    assert!(used >= widths.len(), "only {used} methods have a body");
    job
}

fn reach(ground: &Ground, inches: f64) -> &Reach {
    all_of(ground, inches).next().unwrap()
}

fn all_of(ground: &Ground, inches: f64) -> impl Iterator<Item = &Reach> {
    let width = inches * 0.0254;
    let reaches = ground.reaches().iter();
    reaches.filter(move |r| (r.width - width).abs() < 1e-9)
}

/// How many methods have a machine of a width.
fn machines(ground: &Ground, inches: f64) -> usize {
    all_of(ground, inches).map(|r| r.methods.len()).sum()
}

proptest! {
    #![proptest_config(cases(24))]

    #[test]
    fn a_wider_machine_reaches_no_more(yard in yards(), narrow in 10.0..60.0, more in 1.0..40.0) {
        let job = with_widths(&yard, &[narrow, narrow + more]);
        let ground = Ground::new(&job);
        let (small, large) = (reach(&ground, narrow), reach(&ground, narrow + more));
        let (small, large) = (small.reached(), large.reached());
        prop_assert!(large.unsigned_area() <= small.unsigned_area() + 1e-9);
        // Round corners are many-sided polygons that differ a little between the widths.
        let beyond = large.difference(&small).unsigned_area();
        prop_assert!(beyond <= 0.002 * small.unsigned_area() + 1e-6, "{beyond}");
    }
}

/// A yard parted by a fence along y = 10 with a gate of 48 in between x = 9 and 10.2192.
fn gated(clear: &str) -> Yard {
    let mut yard = Yard::plain((20.0, 20.0), (4.0, 4.0), &[(16.0, 4.0)]);
    let fence = |id: &str, from: At, to: At| {
        feature(
            id,
            line(&[from, to]),
            json!({"kind": "obstacle", "obstacle": "fence"}),
        )
    };
    yard.more.push(fence("F1", (0.0, 10.0), (9.0, 10.0)));
    yard.more.push(fence("F2", (10.2192, 10.0), (20.0, 10.0)));
    let gate = json!({"kind": "gate", "clear_width": clear});
    yard.more.push(feature(
        "SIDEGATE",
        line(&[(9.0, 10.0), (10.2192, 10.0)]),
        gate,
    ));
    yard
}

fn whys(ground: &Ground, at: At) -> Vec<String> {
    let at = Coord { x: at.0, y: at.1 };
    let stretch = ground.describe(&ground.class_at(at), at);
    stretch.blocked.into_iter().map(|b| b.why).collect()
}

fn shown(job: &Job, inches: f64) -> String {
    Length::inch(inches).small().show(job.units)
}

#[test]
fn a_gate_lets_the_narrow_machine_in_and_keeps_the_wide_one_out() {
    let job = with_widths(&gated("48 in"), &[35.0, 60.0]);
    let ground = Ground::new(&job);
    assert_eq!(whys(&ground, (5.0, 5.0)), Vec::<String>::new());
    let (narrow, wide) = (machines(&ground, 35.0), machines(&ground, 60.0));
    let behind = whys(&ground, (5.0, 15.0));
    assert_eq!(behind.len(), wide);
    assert!(narrow > 0 && !behind.is_empty());
    for why in behind {
        assert!(why.contains("SIDEGATE"), "{why}");
        let [clear, needed] = [48.0, 60.0].map(|inches| shown(&job, inches));
        assert!(why.contains(&clear) && why.contains(&needed), "{why}");
    }
}

#[test]
fn the_measured_width_of_a_gate_counts_to_the_inch() {
    for (clear, kept_out) in [("35 in", false), ("34.9 in", true)] {
        let job = with_widths(&gated(clear), &[35.0, 35.0]);
        let behind = whys(&Ground::new(&job), (5.0, 15.0));
        assert_eq!(!behind.is_empty(), kept_out, "{clear}: {behind:?}");
    }
}

#[test]
fn ground_behind_a_solid_row_is_cut_off() {
    let mut yard = Yard::plain((20.0, 20.0), (4.0, 4.0), &[(16.0, 4.0)]);
    let row: [Box4; 2] = [(0.5, 9.0, 9.0, 11.0), (10.0, 9.0, 19.5, 11.0)];
    yard.more.extend(
        row.iter()
            .enumerate()
            .map(|(i, b)| building(&format!("B{i}"), *b)),
    );
    // The gap of 1 m lets a body of 35 in through and none of 45 in.
    let job = with_widths(&yard, &[35.0, 45.0]);
    let ground = Ground::new(&job);
    let behind = whys(&ground, (5.0, 15.0));
    assert_eq!(behind.len(), machines(&ground, 45.0));
    for why in behind {
        let named = why.contains("building B0") && why.contains("building B1");
        assert!(
            named && why.contains(&shown(&job, 39.3701)) && why.contains(&shown(&job, 45.0)),
            "{why}"
        );
    }
}
