//! The risk of the first demo job.

mod support;

use quantity::Money;
use support::Site;

/// Every range of the practice narrowed to what the plan takes.
const CERTAIN: &str = r#"
[risk]
shape = "pert"
trials = 1000
material = { low = 1, likely = 1, high = 1 }
[risk.pace]
crew = { low = 1, likely = 1, high = 1 }
hand = { low = 1, likely = 1, high = 1 }
trench = { low = 1, likely = 1, high = 1 }
pull = { low = 1, likely = 1, high = 1 }
sleeve = { low = 1, likely = 1, high = 1 }
[risk.stones]
coarse_less = "0 %"
coarse_more = "0 %"
slow = { low = 1, likely = 1, high = 1 }
[risk.moisture]
drier = "0 %"
wetter = "0 %"
[risk.service]
located = { low = 1, likely = 1, high = 1 }
unlocated = { low = 1, likely = 1, high = 1 }
[risk.rock]
share = { low = "0 %", likely = "0 %", high = "0 %" }
[risk.weather]
lost = { low = "0 %", likely = "0 %", high = "0 %" }
"#;

#[test]
fn with_everything_as_planned_the_cost_and_the_days_are_the_plan_s() {
    let site = Site::demo(CERTAIN);
    let risk = site.risk();
    assert_eq!(risk.trials, 1000);
    assert_eq!(risk.cost, risk::CostRange::default());
    assert!(risk.quantiles.iter().all(|change| *change == Money::ZERO));
    let days = site.schedule.days.len() as u32;
    assert_eq!((risk.days.p10, risk.days.p90), (days, days));
}

#[test]
fn the_curve_rises_and_the_figures_lie_on_it() {
    let risk = Site::demo("").risk();
    assert!(risk.quantiles.is_sorted());
    assert_eq!(risk.quantiles[4], risk.cost.p10);
    assert_eq!(risk.quantiles[20], risk.cost.p50);
    assert_eq!(risk.quantiles[36], risk.cost.p90);
    assert_eq!(risk.contingency, risk.quantiles[32].max(Money::ZERO));
    assert!(risk.cost.p10 < risk.cost.mean && risk.cost.mean < risk.cost.p90);
    let all: f64 = risk.day_shares.iter().map(|one| one.share).sum();
    assert!((all - 1.0).abs() < 1e-9);
    assert!(risk.days.p10 <= risk.days.p50 && risk.days.p50 < risk.days.p90);
}

#[test]
fn layered_trials_scatter_less_than_the_standard_errors_say() {
    let mut site = Site::demo("");
    let mut medians = Vec::new();
    let mut errors = Vec::new();
    for seed in 0..12 {
        site.job.seed = seed;
        let risk = site.risk();
        medians.push(risk.cost.p50.to_units());
        errors.push(risk.cost.errors[1].to_units());
    }
    let scatter = risk::statistics::deviation(&medians);
    let told = risk::statistics::mean(&errors);
    assert!(scatter < 1.5 * told, "{scatter} {told}");
}

#[test]
fn pert_scatters_less_than_triangles_over_the_same_points() {
    let triangular = Site::demo("").risk();
    let pert = Site::demo("[risk]\nshape = \"pert\"\n").risk();
    assert!(pert.cost.deviation < triangular.cost.deviation);
}

#[test]
fn points_out_of_order_are_refused() {
    let options = job::ReadOptions {
        practice: Some("[risk.material]\nlow = 1.2\n".to_owned()),
        ..job::ReadOptions::default()
    };
    let findings = job::read(job::DEMO, &options).unwrap_err();
    assert!(
        findings
            .iter()
            .any(|f| f.subject.contains("risk.material.low"))
    );
}
