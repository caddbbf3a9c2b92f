//! Trials of yards drawn by hand: what is exact, and what has a closed form.

#[path = "../../takeoff/tests/common/mod.rs"]
mod common;

use crate::causes::Causes;
use crate::model::{Model, Outcome, Scratch};
use crate::order::Order;
use crate::{Risk, assess};
use common::{METHODS, Yard, comb, small_yard};
use crew::{Effort, Schedule, schedule};
use job::practice::Points;
use job::{Job, Sourced};
use proptest::prelude::*;
use quantity::{Money, Ratio};
use routes::StretchId;
use takeoff::{Takeoff, take_off};
use working::Ledger;

fn planned(yard: &Yard) -> (Takeoff, Schedule) {
    let Yard {
        job,
        network,
        water,
        digging,
    } = yard;
    let mut ledger = Ledger::new();
    let material = take_off(job, network, water, digging, &mut ledger);
    let days = schedule(
        job,
        network,
        water,
        digging,
        &material,
        Effort::Quick,
        &mut ledger,
    );
    (material, days)
}

fn assessed(yard: &Yard) -> (Risk, Ledger) {
    let (material, days) = planned(yard);
    let mut ledger = Ledger::new();
    let risk = assess(
        &yard.job,
        &yard.network,
        &yard.digging,
        &material,
        &days,
        &mut ledger,
    );
    (risk, ledger)
}

fn set(sourced: &mut Sourced<Ratio>, value: f64) {
    sourced.value = Ratio::one(value);
}

fn fix(points: &mut Points, value: f64) {
    set(&mut points.low, value);
    set(&mut points.likely, value);
    set(&mut points.high, value);
}

/// Nothing is uncertain any more.
fn certain(job: &mut Job) {
    let risk = &mut job.practice.risk;
    let pace = &mut risk.pace;
    for points in [
        &mut pace.crew,
        &mut pace.hand,
        &mut pace.trench,
        &mut pace.pull,
        &mut pace.sleeve,
        &mut risk.stones.slow,
        &mut risk.service.located,
        &mut risk.service.unlocated,
        &mut risk.material,
    ] {
        fix(points, 1.0);
    }
    fix(&mut risk.rock.share, 0.0);
    fix(&mut risk.weather.lost, 0.0);
    for share in [
        &mut risk.stones.coarse_less,
        &mut risk.stones.coarse_more,
        &mut risk.moisture.drier,
        &mut risk.moisture.wetter,
    ] {
        set(share, 0.0);
    }
}

/// The yard with services crossed and stones in the ground.
fn stony_yard() -> Yard {
    let mut yard = small_yard();
    yard.cross(StretchId(1), "gas");
    yard.cross(StretchId(5), "phone");
    for stretch in &mut yard.network.stretches {
        stretch.ground.soil.coarse = Ratio::percent(20.0);
    }
    yard.job.practice.risk.trials.value = 2_000;
    yard
}

/// Runs something on a yard's model.
fn with_model<T>(yard: &Yard, run: impl FnOnce(&Model, &Schedule) -> T) -> T {
    let (material, days) = planned(yard);
    let causes = Causes::of(&yard.job, &yard.network, &yard.digging);
    let model = Model::new(
        &yard.job,
        &causes,
        &yard.network,
        &yard.digging,
        &material,
        &days,
    );
    run(&model, &days)
}

fn outcome_of(model: &Model, values: &[f64]) -> Outcome {
    model.outcome(values, 0, &mut Scratch::default())
}

#[test]
fn as_planned_nothing_changes() {
    with_model(&stony_yard(), |model, days| {
        let outcome = outcome_of(model, &model.causes.planned());
        assert_eq!(outcome.change, Money::ZERO);
        assert_eq!(outcome.days as usize, days.days.len());
    });
}

#[test]
fn a_slower_crew_costs_its_hours() {
    let mut yard = small_yard();
    certain(&mut yard.job);
    let hour = yard.job.prices.labour.hour().to_units();
    with_model(&yard, |model, days| {
        let mut values = model.causes.planned();
        values[model.causes.crew] = 0.2;
        let outcome = outcome_of(model, &values);
        // All but the tests takes five times as long; so does the fuel; hire only grows.
        let scaled = days.labour - days.labour_of(crew::TaskKind::Test);
        let labour = Money::from_units(4.0 * scaled.to_h() * hour);
        assert!(outcome.change >= labour, "{} {labour}", outcome.change);
        assert!(outcome.days as usize > days.days.len());
    });
}

#[test]
fn certain_ground_has_no_spread() {
    let mut yard = stony_yard();
    certain(&mut yard.job);
    let (risk, _) = assessed(&yard);
    let (_, days) = planned(&yard);
    assert_eq!(risk.cost, crate::CostRange::default());
    assert_eq!(risk.contingency, Money::ZERO);
    let planned = days.days.len() as u32;
    assert_eq!(
        (risk.days.p10, risk.days.p50, risk.days.p90),
        (planned, planned, planned)
    );
    assert!(risk.days.deviation.abs() < 1e-12);
    assert!(risk.causes.iter().all(|cause| cause.share.abs() < 1e-12));
    assert!((risk.within_plan - 1.0).abs() < 1e-12);
}

#[test]
fn one_seed_gives_one_result_on_any_number_of_threads() {
    let yard = stony_yard();
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        pool.build().unwrap().install(|| assessed(&yard))
    };
    let (one, ledger) = on(1);
    let text = |risk: &Risk| serde_json::to_string(risk).unwrap();
    for threads in [2, 3] {
        let (again, other) = on(threads);
        assert_eq!(text(&one), text(&again));
        assert_eq!(ledger, other);
    }
    let mut yard = stony_yard();
    yard.job.seed += 1;
    assert_ne!(text(&one), text(&assessed(&yard).0));
}

#[test]
fn every_figure_has_its_working() {
    let (risk, ledger) = assessed(&stony_yard());
    let figures = [
        ("risk.cost.p10", risk.cost.p10),
        ("risk.cost.p50", risk.cost.p50),
        ("risk.cost.p90", risk.cost.p90),
        ("risk.cost.mean", risk.cost.mean),
        ("risk.cost.deviation", risk.cost.deviation),
        ("risk.contingency", risk.contingency),
    ];
    for (id, money) in figures {
        let working = ledger.get(id).unwrap_or_else(|| panic!("no {id}"));
        assert_eq!(working.value, money.amount().into());
        assert!(!working.approximate.is_empty(), "{id}");
    }
    for id in [
        "risk.days.p10",
        "risk.days.p50",
        "risk.days.p90",
        "risk.rock_per_m",
    ] {
        assert!(ledger.get(id).is_some(), "no {id}");
    }
    for cause in &risk.causes {
        assert!(ledger.get(&format!("risk.cause.{}", cause.id)).is_some());
    }
}

#[test]
fn causes_are_those_of_the_job_and_explain_no_more_than_all() {
    let (risk, _) = assessed(&stony_yard());
    let has = |id: &str| risk.causes.iter().any(|cause| cause.id == id);
    for id in [
        "pace.crew",
        "pace.pull",
        "service.gas",
        "service.phone",
        "moisture",
        "rock",
    ] {
        assert!(has(id), "no {id}");
    }
    assert!(risk.causes.is_sorted_by(|a, b| a.share >= b.share));
    let sum: f64 = risk.causes.iter().map(|cause| cause.share).sum();
    assert!((0.5..1.1).contains(&sum), "{sum}");
}

#[test]
fn material_alone_is_a_straight_line_with_a_closed_form() {
    let mut yard = small_yard();
    certain(&mut yard.job);
    set(&mut yard.job.practice.risk.material.low, 0.9);
    set(&mut yard.job.practice.risk.material.high, 1.3);
    let (material, _) = planned(&yard);
    let all: Money = material.items.iter().map(|item| item.cost).sum();
    let (risk, _) = assessed(&yard);
    // Triangular over −0.1, 0, 0.3: mean 1/15; P50 = 0.3 − √(0.5 · 0.4 · 0.3); P90 likewise.
    let near = |got: Money, share: f64| {
        let off = got.to_units() - all.to_units() * share;
        assert!(off.abs() < 1e-3 * all.to_units(), "{got} {share}");
    };
    near(risk.cost.mean, 0.2 / 3.0);
    near(risk.cost.p10, -0.1 + (0.1f64 * 0.4 * 0.1).sqrt());
    near(risk.cost.p50, 0.3 - (0.5f64 * 0.4 * 0.3).sqrt());
    near(risk.cost.p90, 0.3 - (0.1f64 * 0.4 * 0.3).sqrt());
    near(risk.contingency, 0.3 - (0.2f64 * 0.4 * 0.3).sqrt());
    near(
        risk.cost.deviation,
        ((0.4f64 * 0.4 - 0.1 * 0.3) / 18.0).sqrt(),
    );
    assert_eq!(risk.causes[0].id, "material");
    assert!(risk.causes[0].share > 0.99);
    assert_eq!(risk.causes[0].swing(), all.times(0.4));
}

#[test]
fn a_metre_of_rock_costs_what_its_hours_do() {
    let mut yard = small_yard();
    fix(&mut yard.job.practice.risk.rock.slow, 1.0);
    assert_eq!(assessed(&yard).0.rock_per_m, Money::ZERO);
    fix(&mut yard.job.practice.risk.rock.slow, 3.0);
    let at_3 = assessed(&yard).0.rock_per_m;
    fix(&mut yard.job.practice.risk.rock.slow, 5.0);
    let at_5 = assessed(&yard).0.rock_per_m;
    assert!(at_3 > Money::ZERO);
    assert!((at_5.to_cents() - 2 * at_3.to_cents()).abs() <= 1);
}

#[test]
fn a_job_without_trenches_has_nothing_at_stake() {
    let mut yard = small_yard();
    yard.network.stretches.clear();
    yard.network.lines.clear();
    yard.digging.digs.clear();
    let empty = Schedule::default();
    let material = Takeoff::default();
    let mut ledger = Ledger::new();
    let risk = assess(
        &yard.job,
        &yard.network,
        &yard.digging,
        &material,
        &empty,
        &mut ledger,
    );
    assert_eq!((risk.contingency, risk.days.p90), (Money::ZERO, 0));
    assert_eq!(risk.rock_per_m, Money::ZERO);
}

fn yards() -> impl Strategy<Value = Yard> {
    let place = (0.0f64..60.0, 1.0f64..40.0);
    let circuit = prop::collection::vec(place, 1..7);
    let methods = prop::collection::vec(prop::sample::select(METHODS.to_vec()), 1..6);
    (prop::collection::vec(circuit, 1..5), methods)
        .prop_map(|(heads, methods)| comb(&heads, &methods))
}

const HAIR: f64 = 1e-3;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn in_any_yard_nothing_changes_as_planned(yard in yards()) {
        let (outcome, days) = with_model(&yard, |model, days| {
            (outcome_of(model, &model.causes.planned()), days.days.len())
        });
        prop_assert_eq!(outcome.change, Money::ZERO);
        prop_assert_eq!(outcome.days as usize, days);
    }

    #[test]
    fn with_any_times_the_order_keeps_people_machines_and_what_comes_before(
        yard in yards(),
        factors in prop::collection::vec(0.2f64..4.0, 64),
    ) {
        let (_, days) = planned(&yard);
        let tasks = &days.tasks;
        let order = Order::of(&yard.job, tasks, &days.crews);
        let times: Vec<f64> = tasks.iter().zip(factors.iter().cycle())
            .map(|(task, factor)| task.hours.to_s() * factor).collect();
        let (mut starts, mut ends) = (vec![0.0; tasks.len()], vec![0.0; tasks.len()]);
        order.run(&times, &mut starts, &mut ends);
        for (index, task) in tasks.iter().enumerate() {
            for before in &task.after {
                prop_assert!(ends[*before] <= starts[index] + HAIR);
            }
            let there = |other: &usize| {
                starts[*other] <= starts[index] + HAIR && ends[*other] > starts[index] + 2.0 * HAIR
            };
            let at_work: Vec<usize> = (0..tasks.len()).filter(there).collect();
            let people: u32 = at_work.iter().map(|t| tasks[*t].people).sum();
            prop_assert!(people <= days.crew, "{} people", people);
            let same = at_work.iter().filter(|t| **t != index && tasks[**t].machine == task.machine);
            prop_assert!(task.machine.is_none() || same.count() == 0 || times[index] < HAIR);
        }
    }

    #[test]
    fn longer_times_never_end_sooner(yard in yards(), longer in 0usize..64, by in 0.0f64..9e4) {
        let (_, days) = planned(&yard);
        let order = Order::of(&yard.job, &days.tasks, &days.crews);
        let end = |times: &[f64]| {
            let (mut starts, mut ends) = (vec![0.0; times.len()], vec![0.0; times.len()]);
            order.run(times, &mut starts, &mut ends);
            ends.into_iter().fold(0.0, f64::max)
        };
        let mut times: Vec<f64> = days.tasks.iter().map(|task| task.hours.to_s()).collect();
        let before = end(&times);
        let index = longer % times.len();
        times[index] += by;
        let after = end(&times);
        prop_assert!(after + 1e-6 >= before && after <= before + by + 1e-6);
    }

    #[test]
    fn a_wider_range_never_lowers_the_contingency(low in 0.5f64..1.0, high in 1.0f64..2.0, more in 0.0f64..1.0) {
        let mut yard = small_yard();
        certain(&mut yard.job);
        yard.job.practice.risk.trials.value = 400;
        set(&mut yard.job.practice.risk.material.low, low);
        let contingency = |high: f64| {
            let mut yard = Yard { job: yard.job.clone(), network: yard.network.clone(),
                water: yard.water.clone(), digging: yard.digging.clone() };
            set(&mut yard.job.practice.risk.material.high, high);
            assessed(&yard).0.contingency
        };
        prop_assert!(contingency(high) <= contingency(high + more));
    }
}
