//! The crews' days in a yard drawn by hand, and what holds for any yard.

#[path = "../../takeoff/tests/common/mod.rs"]
mod common;

use common::{METHODS, Yard, comb, small_yard};
use crew::audit::faults;
use crew::{Effort, Schedule, Task, TaskKind, schedule};
use job::MethodId;
use job::practice::{First, Skill};
use proptest::prelude::*;
use quantity::{Duration, Length};
use routes::StretchId;
use takeoff::take_off;
use working::Ledger;

const HAIR: f64 = 1e-3;

fn days_by(yard: &Yard, effort: Effort) -> (Schedule, Ledger) {
    let Yard {
        job,
        network,
        water,
        digging,
    } = yard;
    let mut ledger = Ledger::new();
    let material = take_off(job, network, water, digging, &mut ledger);
    let days = schedule(job, network, water, digging, &material, effort, &mut ledger);
    (days, ledger)
}

fn days_of(yard: &Yard) -> (Schedule, Ledger) {
    days_by(yard, Effort::Full)
}

fn task<'s>(days: &'s Schedule, what: &str) -> &'s Task {
    let found = days.tasks.iter().find(|task| task.what.starts_with(what));
    found.unwrap_or_else(|| panic!("no {what} among {:#?}", days.tasks))
}

#[test]
fn the_yard_is_done_in_the_order_of_the_work() {
    let mut yard = small_yard();
    yard.cross(StretchId(1), "gas");
    let (days, ledger) = days_of(&yard);
    let chain = [
        "stake",
        "expose gas",
        "put in or open up sleeves",
        "dig main, walk",
        "lay main",
        "set valves",
        "inspect main",
        "flush main",
        "test main",
        "main holds its pressure",
        "flush lateral C2",
        "set heads of C2",
        "test lateral C2",
        "lateral C2 holds its pressure",
    ];
    for pair in chain.windows(2) {
        let (before, after) = (task(&days, pair[0]), task(&days, pair[1]));
        assert!(before.end.to_s() <= after.start.to_s() + HAIR, "{pair:?}");
    }
    let stood = task(&days, "joints of main stand");
    assert!(stood.end.to_s() <= task(&days, "flush main").start.to_s() + HAIR);
    // Nothing is dug of the first circuit, which is pulled in: nothing of it is filled.
    assert!(
        !days
            .tasks
            .iter()
            .any(|task| task.what == "fill and tamp lateral C1")
    );
    assert_eq!(
        task(&days, "pull in lateral C1").machine,
        Some(MethodId("walk_plow".into()))
    );
    assert_eq!((days.crew, days.notice_days), (3, 3));
    assert_eq!(
        ledger.get("crew.labour").unwrap().value,
        days.labour.amount().into()
    );
    assert_eq!(days.days.last().unwrap().open, Length::ZERO);
    assert_eq!(faults(&yard.job, &yard.network, &days), [""; 0]);
    assert!(days.holds.iter().any(|hold| hold.what.contains("exposed")));
}

#[test]
fn labour_is_that_of_the_rates() {
    let (days, _) = days_of(&small_yard());
    let hours = |kind| days.labour_of(kind).to_h();
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} instead of {b}");
    // 82 m in all: 20 m of it pulled by one, 3 m under paving by two, 59 m dug by one; 2 min/m.
    let all = 20.0 + 2.0 + 5.0 + 15.0 + 10.0 + 20.0 + 10.0;
    close(hours(TaskKind::WhiteLine), all * 0.1 / 60.0);
    close(hours(TaskKind::Mark), all * 0.4 / 60.0);
    close(hours(TaskKind::Sleeve), 3.0 * 2.0 * 2.0 / 60.0);
    close(hours(TaskKind::Dig), (all - 3.0) * 2.0 / 60.0);
    // Pipe 20 m and 30 m; wire 12 m and cable 20 m.
    close(hours(TaskKind::Lay), 50.0 * 2.0 / 60.0);
    close(hours(TaskKind::Wire), 32.0 * 0.5 / 60.0);
    close(
        hours(TaskKind::Set),
        (240.0 + 2.0 * 40.0 + 4.0 * 15.0 + 120.0) / 60.0,
    );
    close(hours(TaskKind::Inspect), 4.0 * 10.0 / 60.0);
    close(hours(TaskKind::Flush), 3.0 * 15.0 / 60.0);
    close(hours(TaskKind::Test), 3.0 * 0.5);
    let open = all - 20.0 - 3.0;
    close(hours(TaskKind::Fill), 0.6 * open * 0.075 * 50.0 / 60.0);
    close(hours(TaskKind::Compact), 0.4 * open * 0.075 * 50.0 / 60.0);
    close(hours(TaskKind::Restore), open * 0.15 * 12.0 / 60.0);
    close(hours(TaskKind::CleanUp), all * 0.2 / 60.0);
    close(hours(TaskKind::Hold) + hours(TaskKind::Cure), 0.0);
}

#[test]
fn a_shared_trench_is_filled_when_all_in_it_is_tested() {
    let heads = [vec![(7.0, 20.0)], vec![(12.0, 30.0)]];
    let (days, _) = days_of(&comb(&heads, &["walk_trencher"]));
    // A circuit goes back along the main's trench, which stays open for it.
    let waits_for =
        |fill: &Task, what: &str| fill.after.iter().any(|t| days.tasks[*t].what == what);
    let mut fills = days.tasks.iter().filter(|task| task.kind == TaskKind::Fill);
    assert!(fills.any(|fill| {
        let circuits = ["C1", "C2"].map(|c| format!("lateral {c} holds its pressure"));
        waits_for(fill, "main holds its pressure") && circuits.iter().any(|c| waits_for(fill, c))
    }));
}

#[test]
fn dates_pass_over_holidays_and_ends_of_weeks() {
    let mut yard = small_yard();
    let practice = &mut yard.job.practice;
    let date = |month, day| jiff::civil::date(2027, month, day);
    practice.calendar.request_on.value.0 = Some(date(5, 26));
    practice.calendar.holidays.value.0 = vec![date(5, 31)];
    practice.utility.notice_days.value = 2;
    let (days, _) = days_of(&yard);
    // Asked on Wednesday; two full days, Thursday and Friday; Monday is a holiday.
    let (first, last) = days.ahead[2].dates.clone().unwrap();
    assert_eq!(
        (first.as_str(), last.as_str()),
        ("Thu 2027-05-27", "Fri 2027-05-28")
    );
    assert_eq!(days.ahead[2].days, (-1, 0));
    assert_eq!(days.days[0].date.as_deref(), Some("Tue 2027-06-01"));
    assert_eq!(
        days.tasks[0].from,
        crew::Clock {
            day: 1,
            minute: 7 * 60
        }
    );
    assert_eq!(days.tasks[0].from.time(), "07:00");
}

#[test]
fn crews_do_what_they_can() {
    let mut yard = small_yard();
    let crews = &mut yard.job.practice.crew;
    let mut fitters = crews["crew"].clone();
    fitters.people.value = 2;
    fitters.skills.value.0 = vec![Skill::Pipe, Skill::Wire, Skill::Test];
    let diggers = crews.get_mut("crew").unwrap();
    diggers.skills.value.0 = vec![Skill::Mark, Skill::Dig, Skill::Fill];
    crews.insert("fitters".to_owned(), fitters);
    let (days, _) = days_of(&yard);
    assert_eq!(faults(&yard.job, &yard.network, &days), [""; 0]);
    assert_eq!(task(&days, "dig main, walk").crew, "crew");
    assert_eq!(task(&days, "lay main").crew, "fitters");
    assert_eq!(days.crew, 5);
}

#[test]
fn cost_may_come_first() {
    let heads: Vec<Vec<(f64, f64)>> = (0..4)
        .map(|c| {
            (0..6)
                .map(|h| (4.0 + 7.0 * f64::from(h), 5.0 + 9.0 * f64::from(c)))
                .collect()
        })
        .collect();
    let mut yard = comb(&heads, &["walk_trencher"]);
    let machine = [MethodId("walk_trencher".into())];
    let (open_first, _) = days_of(&yard);
    yard.job.practice.day.first.value = First::Cost;
    let (cost_first, _) = days_of(&yard);
    assert!(cost_first.days_of(&machine) < open_first.days_of(&machine));
    assert!(open_first.open < cost_first.open);
}

fn yards() -> impl Strategy<Value = Yard> {
    let place = (0.0f64..60.0, 1.0f64..40.0);
    let circuit = prop::collection::vec(place, 1..7);
    let methods = prop::collection::vec(prop::sample::select(METHODS.to_vec()), 1..6);
    (prop::collection::vec(circuit, 1..5), methods)
        .prop_map(|(heads, methods)| comb(&heads, &methods))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn nothing_is_filled_before_it_is_tested_and_all_ends_well(yard in yards()) {
        let (quick, _) = days_by(&yard, Effort::Quick);
        let (days, ledger) = days_of(&yard);
        prop_assert_eq!(faults(&yard.job, &yard.network, &days), Vec::<String>::new());
        prop_assert_eq!(faults(&yard.job, &yard.network, &quick), Vec::<String>::new());
        let step = yard.job.practice.day.open_step.value;
        prop_assert!(days.open <= quick.open + step);
        prop_assert!(days.fewest_days as usize <= days.days.len());
        let kinds: f64 = TaskKind::ALL.iter().map(|kind| days.labour_of(*kind).to_s()).sum();
        prop_assert!((kinds - days.labour.to_s()).abs() < 1e-6);
        let dug: f64 = yard.digging.digs.iter().map(|d| d.hours.to_s() * f64::from(d.crew)).sum();
        prop_assert!((days.labour_of(TaskKind::Dig).to_s() - dug).abs() < 1e-6);
        let evenings: Length = days.days.iter().map(|day| day.open).sum();
        prop_assert!((evenings.to_m() - days.open.to_m()).abs() < 1e-6);
        prop_assert_eq!(days.days.last().unwrap().open, Length::ZERO);
        for step in days.tasks.iter().filter(|task| !task.steps.is_empty()) {
            prop_assert!((step.steps.iter().map(|s| s.share).sum::<f64>() - 1.0).abs() < 1e-9);
        }
        prop_assert_eq!((days, ledger), days_of(&yard));
    }

    #[test]
    fn more_people_never_raise_the_bound(yard in yards()) {
        let mut yard = yard;
        let (days, _) = days_by(&yard, Effort::Quick);
        yard.job.practice.crew.get_mut("crew").unwrap().people.value += 2;
        let (more, _) = days_by(&yard, Effort::Quick);
        prop_assert!(more.fewest_days <= days.fewest_days);
        prop_assert!((more.labour - days.labour).to_s().abs() < Duration::s(1e-3).to_s());
    }
}
