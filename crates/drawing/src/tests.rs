//! The drawing of a small made-up yard.

pub mod yard;

use super::*;
use quantity::Length;

fn drawn(job: &Job, plan: &Plan, units: Units) -> String {
    svg(job, plan, &SvgOptions { units, sheet: None })
}

/// Element names open and close in pairs, attributes are quoted, text is escaped.
pub fn assert_well_formed(svg: &str) {
    let mut open: Vec<&str> = Vec::new();
    for piece in svg.split('<').skip(1) {
        let (tag, text) = piece.split_once('>').expect("every tag is closed");
        assert!(!text.contains('&') || text.contains(';'), "{text}");
        assert_eq!(tag.matches('"').count() % 2, 0, "{tag}");
        let name = tag
            .trim_start_matches('/')
            .split([' ', '/'])
            .next()
            .unwrap();
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name));
        } else if !tag.ends_with('/') {
            open.push(name);
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
}

#[test]
fn the_sheet_is_well_formed_and_the_same_every_time() {
    let (job, plan) = yard::yard();
    let first = drawn(&job, &plan, Units::Us);
    assert_well_formed(&first);
    assert_eq!(first, drawn(&job, &plan, Units::Us));
    assert!(!first.contains("NaN") && !first.contains("inf"));
}

#[test]
fn the_readers_units_decide_paper_scale_and_numbers() {
    let (job, plan) = yard::yard();
    let us = drawn(&job, &plan, Units::Us);
    assert!(us.contains("width=\"431.8mm\"") && us.contains(" in = "));
    assert!(us.contains("36 in"), "the gate's width");
    let si = drawn(&job, &plan, Units::Si);
    assert!(si.contains("width=\"420mm\"") && si.contains("scale 1:"));
    assert!(si.contains("914 mm"), "the gate's width");
}

#[test]
fn words_of_the_job_cannot_break_the_drawing() {
    let (mut job, plan) = yard::yard();
    job.name = "</text><script>alert(1)</script> & \"more\"".to_owned();
    job.survey.trees[0].id = "<T&1>\u{7}".to_owned();
    let text = drawn(&job, &plan, Units::Us);
    assert!(!text.contains("<script"));
    assert!(text.contains("&lt;T&amp;1&gt;"));
    assert_well_formed(&text);
}

#[test]
fn the_legend_lists_only_what_occurs() {
    let (mut job, plan) = yard::yard();
    assert!(drawn(&job, &plan, Units::Us).contains("gas (yellow)"));
    job.survey.utilities.clear();
    let text = drawn(&job, &plan, Units::Us);
    assert!(!text.contains("gas (yellow)"));
    assert!(!text.contains("hand-dig zone"));
}

#[test]
fn without_an_anchor_north_is_the_plans_own() {
    let (mut job, plan) = yard::yard();
    assert!(drawn(&job, &plan, Units::Us).contains("(not surveyed)"));
    job.anchor = Some(job::Anchor {
        longitude: 0.0,
        latitude: 0.0,
        rotation: 30.0,
        height: Length::m(0.0),
    });
    let text = drawn(&job, &plan, Units::Us);
    assert!(text.contains("rotate(-30 "));
    assert!(!text.contains("(not surveyed)"));
}

#[test]
fn an_invented_job_says_so_on_the_sheet() {
    let (mut job, plan) = yard::yard();
    assert!(drawn(&job, &plan, Units::Us).contains("INVENTED"));
    job.invented = false;
    assert!(!drawn(&job, &plan, Units::Us).contains("INVENTED"));
}

#[test]
fn one_run_of_one_size_has_one_label() {
    let (job, plan) = yard::yard();
    let text = drawn(&job, &plan, Units::Us);
    let text = text.split("id=\"detail-").next().unwrap();
    assert_eq!(text.matches(">main 1-1/4 in<").count(), 1);
    assert_eq!(text.matches(">C1 1 in<").count(), 1);
}

#[test]
fn a_huge_property_still_fits_the_sheet() {
    let (mut job, plan) = yard::yard();
    job.survey.accesses[0].at = job::Place::new(Length::ft(90_000.0).to_m(), 5.0);
    assert_well_formed(&drawn(&job, &plan, Units::Si));
}

#[test]
fn no_two_methods_look_the_same() {
    let (job, _) = yard::yard();
    let styles: Vec<_> = job
        .prices
        .method
        .keys()
        .map(|id| style::trench(&job, id))
        .collect();
    for (i, a) in styles.iter().enumerate() {
        // Without the colour, as a grey print shows them.
        let grey = |s: &TrenchStyle| (s.weight.to_bits(), s.dashes, s.hollow);
        assert!(styles[i + 1..].iter().all(|b| grey(a) != grey(b)), "{a:?}");
    }
}

/// Gives every outlet of the yard a margin; psi, by its place in the job.
fn with_margins(job: &Job, plan: &mut Plan, margin: impl Fn(usize) -> f64) {
    use quantity::{Flow, Pressure};
    let outlets = job.system.outlets.iter().enumerate();
    plan.hydraulics.outlets = outlets
        .map(|(i, outlet)| plan::hydraulics::OutletResult {
            outlet: outlet.id.clone(),
            circuit: outlet.circuit.clone(),
            pressure: Pressure::psi(30.0 + margin(i)),
            needs: Pressure::psi(30.0),
            flow: Flow::gpm(2.0),
            margin: Pressure::psi(margin(i)),
        })
        .collect();
}

#[test]
fn a_head_that_lacks_pressure_says_by_how_much() {
    let (job, mut plan) = yard::yard();
    with_margins(&job, &mut plan, |i| if i == 0 { -4.2 } else { i as f64 });
    let text = drawn(&job, &plan, Units::Us);
    assert_well_formed(&text);
    assert!(text.contains(">−4.2 psi<"));
    assert!(text.contains("lacks pressure: by how much"));
    assert!(text.contains("or more to spare"));
    with_margins(&job, &mut plan, |i| i as f64);
    assert!(!drawn(&job, &plan, Units::Us).contains("lacks pressure"));
}

#[test]
fn a_place_for_valves_is_drawn_if_none_stands_there() {
    let (mut job, plan) = yard::yard();
    let at = job::Place::new(30.0, 20.0);
    job.system.manifolds.push(job::Manifold {
        id: "MX".into(),
        at,
    });
    assert!(drawn(&job, &plan, Units::Us).contains("place for valves, not used"));
    job.system.valves[0].at = at;
    assert!(!drawn(&job, &plan, Units::Us).contains("place for valves, not used"));
}

/// A made-up risk: the change rises evenly, and there are two causes.
fn with_risk() -> Plan {
    use plan::risk::{Cause, CostRange, DayShare, Risk};
    let (_, mut plan) = yard::yard();
    let change = |step: i64| quantity::Money::cents(step * 2_000 - 10_000);
    let cause = |what: &str, share| Cause {
        id: what.replace(' ', "."),
        what: what.to_owned(),
        share,
        share_of_days: share,
        at_low: change(0),
        at_high: change(40),
    };
    plan.risk = Risk {
        trials: 1_000,
        cost: CostRange {
            p10: change(4),
            p50: change(20),
            p90: change(36),
            ..CostRange::default()
        },
        within_plan: 0.125,
        causes: vec![cause("stones in soil S1", 0.7), cause("rock & all", 0.2)],
        confidence: quantity::Ratio::percent(80.0),
        contingency: change(32),
        quantiles: (0..=40).map(change).collect(),
        day_shares: vec![
            DayShare {
                days: 3,
                share: 0.999,
            },
            DayShare {
                days: 5,
                share: 0.001,
            },
        ],
        ..Risk::default()
    };
    plan
}

#[test]
fn the_risk_is_drawn_with_its_figures() {
    let mut plan = with_risk();
    let text = risk_svg(&plan).expect("trials were drawn");
    assert_well_formed(&text);
    assert_eq!(Some(&text), risk_svg(&plan).as_ref());
    assert!(!text.contains("NaN") && !text.contains("inf"));
    let p90 = format!("P90 {}", plan.price.cost + plan.risk.cost.p90);
    assert!(text.contains(&p90), "no {p90}");
    for words in [
        "stones in soil S1",
        "rock &amp; all",
        "70.0 %",
        "100 %",
        "&lt;1 %",
    ] {
        assert!(text.contains(words), "no {words}");
    }
    plan.job = "</text><script>".to_owned();
    let text = risk_svg(&plan).expect("trials were drawn");
    assert!(!text.contains("<script"));
    assert_well_formed(&text);
    plan.risk = plan::risk::Risk::default();
    assert_eq!(risk_svg(&plan), None);
}

#[test]
fn a_risk_without_spread_is_drawn_too() {
    let mut plan = with_risk();
    for change in &mut plan.risk.quantiles {
        *change = quantity::Money::ZERO;
    }
    plan.price.cost = quantity::Money::ZERO;
    let text = risk_svg(&plan).expect("trials were drawn");
    assert_well_formed(&text);
    assert!(!text.contains("NaN") && !text.contains("inf"));
}
