//! Drafts while a job is being changed: whole, the same whatever was drafted before, and not much dearer
//! than a plan from nothing.

use crate::{plan_of, read};
use job::{Job, Place};
use plan::{Desk, Plan, PlanError, routes};
use proptest::prelude::*;
use std::cell::Cell;
use std::ops::ControlFlow;
use std::sync::OnceLock;

/// How much dearer the job may be than by a plan from nothing.
const DEARER: f64 = 0.1;

fn go_on(_: &str) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// Two demos, one with circuits given and one with circuits proposed, each with its plan.
fn demos() -> &'static [(Job, Plan); 2] {
    static DEMOS: OnceLock<[(Job, Plan); 2]> = OnceLock::new();
    DEMOS.get_or_init(|| {
        [job::DEMO_COURTYARD, job::DEMO_GARDEN].map(|text| {
            let job = read(text);
            let plan = plan_of(&job).unwrap();
            (job, plan)
        })
    })
}

/// A change of a job; numbers are taken modulo what there is.
#[derive(Debug, Clone)]
enum Change {
    MoveHead(usize, f64, f64),
    RemoveHead(usize),
    AddHead(usize, f64, f64),
    MoveValve(usize, f64, f64),
    MoveController(f64, f64),
    RemoveTree(usize),
    RemoveObstacle(usize),
    RemoveUtility(usize),
    RemoveCable(usize),
    RemoveMethod(usize),
    OtherPipe(usize, usize),
    DearerPipe(f64),
    DearerHands(f64),
    DeeperCover(f64),
}

fn change() -> impl Strategy<Value = Change> {
    use Change::*;
    let metres = || -3.0..3.0_f64;
    prop_oneof![
        5 => (any::<usize>(), metres(), metres()).prop_map(|(i, x, y)| MoveHead(i, x, y)),
        2 => any::<usize>().prop_map(RemoveHead),
        2 => (any::<usize>(), metres(), metres()).prop_map(|(i, x, y)| AddHead(i, x, y)),
        1 => (any::<usize>(), metres(), metres()).prop_map(|(i, x, y)| MoveValve(i, x, y)),
        1 => (metres(), metres()).prop_map(|(x, y)| MoveController(x, y)),
        1 => any::<usize>().prop_map(RemoveTree),
        1 => any::<usize>().prop_map(RemoveObstacle),
        1 => any::<usize>().prop_map(RemoveUtility),
        1 => any::<usize>().prop_map(RemoveCable),
        1 => any::<usize>().prop_map(RemoveMethod),
        1 => (any::<usize>(), any::<usize>()).prop_map(|(c, p)| OtherPipe(c, p)),
        1 => (0.3..3.0_f64).prop_map(DearerPipe),
        1 => (0.3..3.0_f64).prop_map(DearerHands),
        1 => (0.7..1.5_f64).prop_map(DeeperCover),
    ]
}

fn moved(at: &mut Place, x: f64, y: f64) {
    (at.x, at.y) = (at.x + x, at.y + y);
}

fn remove<T>(all: &mut Vec<T>, number: usize) {
    if all.len() > 1 {
        all.remove(number % all.len());
    }
}

fn changed(job: &mut Job, change: &Change) {
    let system = &mut job.system;
    match *change {
        Change::MoveHead(i, x, y) => {
            let i = i % system.outlets.len();
            moved(&mut system.outlets[i].at, x, y);
        }
        Change::RemoveHead(i) => {
            // Circuits with no head are no job.
            let i = i % system.outlets.len();
            let circuit = &system.outlets[i].circuit;
            if system
                .outlets
                .iter()
                .filter(|o| o.circuit == *circuit)
                .count()
                > 1
            {
                system.outlets.remove(i);
            }
        }
        Change::AddHead(i, x, y) => {
            let mut head = system.outlets[i % system.outlets.len()].clone();
            head.id = format!("NEW{}", system.outlets.len());
            moved(&mut head.at, x, y);
            system.outlets.push(head);
        }
        Change::MoveValve(i, x, y) => {
            let count = system.valves.len().max(1);
            if let Some(valve) = system.valves.get_mut(i % count) {
                moved(&mut valve.at, x, y);
            }
        }
        Change::MoveController(x, y) => {
            if let Some(controller) = &mut system.controller {
                moved(&mut controller.at, x, y);
            }
        }
        Change::RemoveTree(i) => remove(&mut job.survey.trees, i),
        Change::RemoveObstacle(i) => remove(&mut job.survey.obstacles, i),
        Change::RemoveUtility(i) => remove(&mut job.survey.utilities, i),
        Change::RemoveCable(i) => remove(&mut system.cables, i),
        Change::RemoveMethod(i) => {
            let methods = &mut job.prices.method;
            let id = methods.keys().nth(i % methods.len()).cloned();
            if let Some(id) = id.filter(|id| id.0 != "hand") {
                methods.remove(&id);
            }
        }
        Change::OtherPipe(circuit, pipe) => {
            let families = &job.practice.pipe;
            let family = families.keys().nth(pipe % families.len()).cloned();
            let count = system.circuits.len().max(1);
            let circuit = system.circuits.get_mut(circuit % count);
            if let (Some(circuit), Some(family)) = (circuit, family) {
                circuit.pipe = family;
            }
        }
        Change::DearerPipe(by) => {
            let prices = job.prices.pipe.values_mut().flat_map(|p| p.values_mut());
            prices.for_each(|price| price.value = price.value.times(by));
        }
        Change::DearerHands(by) => {
            let wage = &mut job.prices.labour.wage;
            wage.value = wage.value.times(by);
        }
        Change::DeeperCover(by) => {
            let tolerance = &mut job.practice.utility.tolerance;
            tolerance.value = tolerance.value * by;
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn any_change_has_a_draft_that_is_whole(
        demo in 0..2_usize,
        changes in prop::collection::vec(change(), 1..5),
    ) {
        let (job, last) = &demos()[demo];
        let mut job = job.clone();
        let mut desk = Desk::new();
        let mut last = last.clone();
        for change in &changes {
            changed(&mut job, change);
            match desk.draft(&job, &last, &go_on) {
                Ok(draft) => {
                    let planned = draft.planned(&job);
                    prop_assert_eq!(
                        routes::audit::faults(&planned, &draft.network),
                        Vec::<String>::new()
                    );
                    prop_assert!(draft.network.bound <= 0.0);
                    last = draft;
                }
                // A head moved into a wall cannot be planned either.
                Err(PlanError::Findings(found)) => {
                    prop_assert!(!found.is_empty());
                    prop_assert!(!plan::check(&job).is_empty());
                    return Ok(());
                }
                Err(PlanError::Stopped) => prop_assert!(false, "nobody stopped it"),
            }
        }
        let alone = plan::draft(&job, &last, &go_on);
        prop_assert!(desk.draft(&job, &last, &go_on) == alone, "the desk changes nothing");
    }
}

#[test]
fn a_draft_costs_little_more_than_a_plan_from_nothing() {
    let changes = [
        Change::MoveHead(3, 1.0, 0.5),
        Change::AddHead(7, 1.5, -1.0),
        Change::RemoveHead(5),
        Change::DearerPipe(2.0),
    ];
    for (job, last) in demos() {
        let mut job = job.clone();
        let mut last = last.clone();
        let mut desk = Desk::new();
        for change in &changes {
            changed(&mut job, change);
            last = desk.draft(&job, &last, &go_on).unwrap();
        }
        let fresh = plan_of(&job).unwrap();
        let [draft_cents, fresh_cents] = [&last, &fresh].map(|p| p.price.total.to_cents() as f64);
        assert!(
            draft_cents <= fresh_cents * (1.0 + DEARER),
            "{draft_cents} cents against {fresh_cents}"
        );
        assert!(last.findings.iter().any(|f| f.rule == "draft"));
    }
}

#[test]
fn a_draft_ends_when_it_is_asked_to() {
    let (job, last) = &demos()[0];
    let asked = Cell::new(0);
    let counted = |_: &str| {
        asked.set(asked.get() + 1);
        ControlFlow::Continue(())
    };
    plan::draft(job, last, &counted).unwrap();
    for most in 1..=asked.get() {
        let left = Cell::new(most);
        let ends = |_: &str| {
            left.set(left.get() - 1);
            if left.get() == 0 {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        };
        assert_eq!(plan::draft(job, last, &ends), Err(PlanError::Stopped));
    }
}

#[test]
fn a_plan_ends_wherever_it_is_asked_to() {
    let (job, plan) = &demos()[0];
    let asked = Cell::new(0_u32);
    let counts = |_: &str| {
        asked.set(asked.get() + 1);
        ControlFlow::Continue(())
    };
    assert_eq!(plan::plan(job, &counts).as_ref(), Ok(plan));
    let all = asked.get();
    // Each part of the way is met, and one question is as good as any: it is asked once only.
    for part in 0..12 {
        let last = all * part / 12;
        let left = Cell::new(last);
        let ends_once = |_: &str| match left.get().checked_sub(1) {
            Some(less) => {
                left.set(less);
                ControlFlow::Continue(())
            }
            None => {
                left.set(u32::MAX);
                ControlFlow::Break(())
            }
        };
        let found = plan::plan(job, &ends_once);
        assert_eq!(
            found,
            Err(PlanError::Stopped),
            "after {last} of {all} questions"
        );
    }
}

#[test]
fn a_told_draft_is_the_draft_with_its_workings() {
    for (job, last) in demos() {
        let mut job = job.clone();
        changed(&mut job, &Change::MoveHead(3, 1.0, 0.5));
        let draft = plan::draft(&job, last, &go_on).unwrap();
        let mut told = plan::told_draft(&job, last, &go_on).unwrap();
        assert!(told.workings.get("price.total").is_some());
        assert!(draft.workings.get("price.total").is_none());
        assert!(
            draft.workings.get("risk.contingency").is_some(),
            "of the last plan's risk"
        );
        told.workings = draft.workings.clone();
        assert!(draft == told);
        // The next draft has the risk of the whole plan still.
        let next = plan::draft(&job, &draft, &go_on).unwrap();
        assert!(next.workings.get("risk.contingency") == draft.workings.get("risk.contingency"));
    }
}
