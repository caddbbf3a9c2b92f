//! The crew's days in a yard drawn by hand, and what holds for any yard and any list of tasks.

#[path = "../../takeoff/tests/common/mod.rs"]
mod common;

use common::{METHODS, Yard, comb, small_yard};
use crew::list::{Spec, list};
use crew::{Schedule, Task, TaskKind, schedule};
use job::MethodId;
use proptest::prelude::*;
use quantity::{Duration, Length};
use routes::StretchId;
use takeoff::take_off;
use working::Ledger;

const HAIR: f64 = 1e-3;

fn days_of(yard: &Yard) -> (Schedule, Ledger) {
    let Yard {
        job,
        network,
        water,
        digging,
    } = yard;
    let mut ledger = Ledger::new();
    let material = take_off(job, network, water, digging, &mut ledger);
    let days = schedule(job, network, water, digging, &material, &mut ledger);
    (days, ledger)
}

fn task<'s>(days: &'s Schedule, what: &str) -> &'s Task {
    let found = days.tasks.iter().find(|task| task.what.starts_with(what));
    found.unwrap_or_else(|| panic!("no {what} among {:#?}", days.tasks))
}

fn end(task: &Task) -> f64 {
    (task.start + task.hours).to_s()
}

#[test]
fn the_yard_is_done_in_the_order_of_the_work() {
    let mut yard = small_yard();
    yard.cross(StretchId(1), "gas");
    let (days, ledger) = days_of(&yard);
    let order = [
        "mark",
        "expose gas",
        "put in or open up sleeves",
        "dig main, walk",
        "lay main",
        "set valves",
        "inspect and test main",
        "inspect and test lateral C2",
        "fill and tamp main",
    ];
    for pair in order
        .windows(2)
        .filter(|pair| pair[1] != "fill and tamp main")
    {
        assert!(
            end(task(&days, pair[0])) <= task(&days, pair[1]).start.to_s() + HAIR,
            "{pair:?}"
        );
    }
    assert!(
        end(task(&days, "inspect and test main"))
            <= task(&days, "fill and tamp main").start.to_s() + HAIR
    );
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
}

#[test]
fn labour_is_that_of_the_rates() {
    let (days, _) = days_of(&small_yard());
    let hours = |kind| days.labour_of(kind).to_h();
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} instead of {b}");
    // 82 m in all: 20 m of it pulled by one, 3 m under paving by two, 59 m dug by one; 2 min/m.
    let all = 20.0 + 2.0 + 5.0 + 15.0 + 10.0 + 20.0 + 10.0;
    close(hours(TaskKind::Mark), all * 0.4 / 60.0);
    close(hours(TaskKind::Sleeve), 3.0 * 2.0 * 2.0 / 60.0);
    close(hours(TaskKind::Dig), (all - 3.0) * 2.0 / 60.0);
    // Pipe 20 m and 30 m; wire 12 m and cable 20 m.
    close(hours(TaskKind::Lay), (50.0 * 2.0 + 32.0 * 0.5) / 60.0);
    close(
        hours(TaskKind::Set),
        (240.0 + 2.0 * 40.0 + 4.0 * 15.0 + 120.0) / 60.0,
    );
    close(hours(TaskKind::Test), 3.0 * 0.5);
    let open = all - 20.0 - 3.0;
    close(hours(TaskKind::Fill), open * 0.075 * 50.0 / 60.0);
    close(hours(TaskKind::Restore), open * 0.15 * 12.0 / 60.0);
}

#[test]
fn a_shared_trench_is_filled_when_all_in_it_is_tested() {
    let heads = [vec![(7.0, 20.0)], vec![(12.0, 30.0)]];
    let (days, _) = days_of(&comb(&heads, &["walk_trencher"]));
    // The second circuit goes back along the main's trench, which stays open for it.
    let fill = task(&days, "fill and tamp lateral C1");
    assert!(
        fill.after
            .iter()
            .any(|t| days.tasks[*t].what == "inspect and test main")
    );
    assert!(
        fill.after
            .iter()
            .any(|t| days.tasks[*t].what == "inspect and test lateral C1")
    );
}

fn yards() -> impl Strategy<Value = Yard> {
    let place = (0.0f64..60.0, 1.0f64..40.0);
    let circuit = prop::collection::vec(place, 1..7);
    let methods = prop::collection::vec(prop::sample::select(METHODS.to_vec()), 1..6);
    (prop::collection::vec(circuit, 1..5), methods)
        .prop_map(|(heads, methods)| comb(&heads, &methods))
}

fn most_people(spans: &[(f64, f64, u32)]) -> u32 {
    let at = |moment: f64| {
        let there = spans
            .iter()
            .filter(|(from, to, _)| *from <= moment + HAIR && *to > moment + HAIR);
        there.map(|(_, _, people)| people).sum()
    };
    spans
        .iter()
        .map(|(from, _, _)| at(*from))
        .max()
        .unwrap_or(0)
}

fn spec() -> impl Strategy<Value = (Spec, Vec<prop::sample::Index>)> {
    let machine = prop::option::of(prop::sample::select(vec!["a", "b"]));
    let after = prop::collection::vec(any::<prop::sample::Index>(), 0..4);
    (0.0f64..40.0, 1u32..4, 0u32..4, machine, 0u32..3, after).prop_map(
        |(hours, least, more, machine, rank, after)| {
            let spec = Spec {
                work: Duration::h(hours),
                least,
                most: least + more,
                machine: machine.map(|m| MethodId(m.into())),
                rank,
                not_before: Duration::h(f64::from(rank)),
                after: Vec::new(),
            };
            (spec, after)
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn nothing_is_filled_before_it_is_tested_and_all_ends_well(yard in yards()) {
        let (days, ledger) = days_of(&yard);
        for task in &days.tasks {
            for before in &task.after {
                prop_assert!(end(&days.tasks[*before]) <= task.start.to_s() + HAIR);
            }
        }
        let spans: Vec<_> = days.tasks.iter().map(|t| (t.start.to_s(), end(t), t.people)).collect();
        prop_assert!(most_people(&spans) <= days.crew);
        let labour: f64 = days.tasks.iter().map(|t| t.hours.to_s() * f64::from(t.people)).sum();
        prop_assert!((labour - days.labour.to_s()).abs() < 1e-6);
        let kinds: f64 = TaskKind::ALL.iter().map(|kind| days.labour_of(*kind).to_s()).sum();
        prop_assert!((kinds - labour).abs() < 1e-6);
        let dug: f64 = yard.digging.digs.iter().map(|d| d.hours.to_s() * f64::from(d.crew)).sum();
        prop_assert!((days.labour_of(TaskKind::Dig).to_s() - dug).abs() < 1e-6);
        prop_assert_eq!(days.days.last().unwrap().open, Length::ZERO);
        prop_assert!(days.days.iter().all(|day| !day.tasks.is_empty()));
        prop_assert_eq!((days, ledger), days_of(&yard));
    }

    #[test]
    fn lists_keep_order_people_and_machines(
        drawn in prop::collection::vec(spec(), 1..40),
        crew in 3u32..6,
    ) {
        let specs: Vec<Spec> = drawn.into_iter().enumerate().map(|(index, (mut spec, after))| {
            spec.after = after.iter().filter(|_| index > 0).map(|a| a.index(index)).collect();
            spec
        }).collect();
        let placed = list(&specs, crew);
        let spans: Vec<_> = placed.iter().map(|p| (p.start.to_s(), p.end().to_s(), p.people)).collect();
        prop_assert!(most_people(&spans) <= crew);
        for (spec, one) in specs.iter().zip(&placed) {
            prop_assert!(one.people >= spec.least && one.people <= spec.most);
            prop_assert!(one.start.to_s() + HAIR >= spec.not_before.to_s());
            for before in &spec.after {
                prop_assert!(placed[*before].end().to_s() <= one.start.to_s() + HAIR);
            }
        }
        for machine in ["a", "b"] {
            let held: Vec<_> = spans.iter().zip(&specs)
                .filter(|(_, spec)| spec.machine.as_ref().is_some_and(|m| m.0 == machine))
                .map(|((from, to, _), _)| (*from, *to, 1)).collect();
            prop_assert!(most_people(&held) <= 1);
        }
    }
}
