//! The material list of a yard drawn by hand, and what holds for any yard.

mod common;

use common::{METHODS, Yard, comb, small_yard};
use proptest::prelude::*;
use quantity::{Length, Money};
use std::collections::BTreeSet;
use takeoff::{Item, Takeoff, take_off};
use working::Ledger;

fn list_of(yard: &Yard) -> (Takeoff, Ledger) {
    let mut ledger = Ledger::new();
    let list = take_off(
        &yard.job,
        &yard.network,
        &yard.water,
        &yard.digging,
        &mut ledger,
    );
    (list, ledger)
}

fn item<'t>(list: &'t Takeoff, id: &str) -> &'t Item {
    let found = list.items.iter().find(|item| item.id == id);
    found.unwrap_or_else(|| {
        panic!(
            "no {id} among {:?}",
            list.items.iter().map(|i| &i.id).collect::<Vec<_>>()
        )
    })
}

fn check(list: &Takeoff, id: &str, order: f64) {
    let found = item(list, id).order.value;
    assert!(
        (found - order).abs() < 1e-9,
        "{id}: {found} instead of {order}"
    );
}

#[test]
fn fittings_come_from_the_geometry() {
    let (list, _) = list_of(&small_yard());
    // The main parts to both sides: one tee by its branch. Its ends are at the valves.
    check(&list, "fitting.pvc_sch40.tee.1-in", 1.0);
    // H1 stands on the line of C1, C2 parts to both sides.
    check(&list, "fitting.pe_sidr15.tee.1-in", 2.0);
    // C1 narrows behind H1; it turns there, bends once and ends at H2.
    check(&list, "fitting.pe_sidr15.reducer.1-in-x-3/4-in", 1.0);
    check(&list, "fitting.pe_sidr15.elbow-90.3/4-in", 2.0);
    // The turn at H1 is made in the larger size, before the reducer; C2 ends at H3 and H4.
    check(&list, "fitting.pe_sidr15.elbow-90.1-in", 3.0);
    assert!(!list.items.iter().any(|item| item.id.contains("elbow-45")));
}

#[test]
fn sticks_and_coils_are_whole() {
    let (list, _) = list_of(&small_yard());
    // 2 + 8 + 5 + 5 m and 1 %: the piece of 8.08 m takes a whole 20 ft stick, 1.984 m and a coupling,
    // the rest 2.02 + 5.05 + 5.05 m; three sticks do.
    let pipe = item(&list, "pipe.pvc_sch40.1-in");
    assert!((pipe.needed.value - 20.2).abs() < 1e-6);
    assert_eq!(pipe.sold_as, "20 ft sticks");
    check(&list, "pipe.pvc_sch40.1-in", 4.0);
    check(&list, "fitting.pvc_sch40.coupling.1-in", 1.0);
    // 5 m to H1; 2 + 3 + 5 m to the tee, 10 m to each side: all from one coil of 100 ft and a second.
    let coils = item(&list, "pipe.pe_sidr15.1-in");
    assert!((coils.needed.value - 35.0 * 1.01).abs() < 1e-6);
    check(&list, "pipe.pe_sidr15.1-in", 2.0);
    assert_eq!(coils.cost, Money::from_units(1.9).times(2.0 * 30.48));
    check(&list, "pipe.pe_sidr15.3/4-in", 1.0);
}

#[test]
fn wire_and_cable_have_slack_and_tails() {
    let (list, _) = list_of(&small_yard());
    // Own conductors 2 × 7 m, common 12 m; five per cent; 2 × 2 tails and 3 for the common, 3 ft each.
    let wire = (14.0 + 12.0) * 1.05 + 7.0 * 0.9144;
    check(&list, "wire.18-awg", wire);
    // Two at each valve, one where the common conductor parts.
    check(&list, "wire.splice", 5.0);
    check(&list, "cable.L1", 20.0 * 1.05);
    // Service, main, to both valves and from the controller.
    check(&list, "tape", 22.0);
}

#[test]
fn components_sleeves_and_ground_are_counted() {
    let (list, ledger) = list_of(&small_yard());
    for (id, order) in [
        ("component.head", 4.0),
        ("component.valve", 2.0),
        ("component.valve-box", 2.0),
        ("component.backflow", 1.0),
        ("component.controller", 1.0),
        // 2 × 1.189 in: the smallest rigid bore at or above is that of 2-1/2 in Schedule 40.
        ("sleeve.pvc_sch40.2-1/2-in", 3.0),
    ] {
        check(&list, id, order);
    }
    let open = 2.0 + 8.0 + 10.0 + 2.0 + 2.0 + 5.0 + 20.0 + 5.0 + 5.0;
    check(&list, "ground.bedding", open * 0.075 * 0.1 * 1.1);
    check(&list, "ground.restore.lawn-kept", open * 0.15 * 1.05);
    for item in &list.items {
        let working = ledger.get(&format!("material.{}", item.id)).unwrap();
        assert!(
            !working.inputs.is_empty() && !working.formula.is_empty(),
            "{}",
            item.id
        );
    }
    let total: Money = list.items.iter().map(|item| item.cost).sum();
    assert_eq!(
        ledger.get("material.total").unwrap().value,
        total.amount().into()
    );
}

fn yards() -> impl Strategy<Value = Yard> {
    let place = (0.0f64..60.0, 1.0f64..40.0);
    let circuit = prop::collection::vec(place, 1..7);
    let methods = prop::collection::vec(prop::sample::select(METHODS.to_vec()), 1..6);
    (prop::collection::vec(circuit, 1..5), methods)
        .prop_map(|(heads, methods)| comb(&heads, &methods))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn pipe_ordered_is_pieces_and_kerf_and_waste(yard in yards()) {
        let (list, _) = list_of(&yard);
        for cutting in &list.cutting {
            let ordered = cutting.piece * cutting.pieces.len() as f64;
            let pieces: Length = cutting.pieces.iter().flatten().copied().sum();
            prop_assert!((ordered - pieces - cutting.kerf - cutting.waste).to_m().abs() < 1e-6);
            let item = item(&list, &cutting.item);
            prop_assert!((item.needed.value - pieces.to_m()).abs() < 1e-6);
            prop_assert_eq!(item.order.value as usize, cutting.pieces.len());
        }
        let needed: f64 = list.cutting.iter().map(|c| item(&list, &c.item).needed.value).sum();
        let on_plan: f64 = yard.water.pipes.iter().map(|p| yard.network.stretch(p.stretch).length.to_m()).sum();
        let slack = 1.0 + yard.job.practice.cut.pipe_slack.value.to_one();
        // Each piece is rounded to the micrometre.
        prop_assert!((needed - on_plan * slack).abs() < 1e-4);
    }

    #[test]
    fn ids_are_unique_and_two_runs_give_the_same(yard in yards()) {
        let (list, ledger) = list_of(&yard);
        let ids: BTreeSet<&str> = list.items.iter().map(|item| item.id.as_str()).collect();
        prop_assert_eq!(ids.len(), list.items.len());
        prop_assert_eq!((list, ledger), list_of(&yard));
    }

    #[test]
    fn a_line_of_heads_in_turn_takes_a_tee_at_each_but_the_last(yard in yards()) {
        let (list, _) = list_of(&yard);
        let heads = yard.job.system.outlets.len();
        let circuits = yard.job.system.circuits.len();
        let tees = list.items.iter().filter(|item| item.id.contains("pe_sidr15.tee"));
        let counted: f64 = tees.map(|item| item.order.value).sum();
        prop_assert_eq!(counted as usize, heads - circuits);
    }
}
