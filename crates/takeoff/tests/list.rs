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
    // The main parts to both sides: one tee by its branch.
    check(&list, "fitting.pvc_sch40.tee.1-in", 1.0);
    // The source by an adapter; both sides of the backflow assembly and one of each valve by unions.
    check(&list, "fitting.pvc_sch40.adapter.1-in", 1.0);
    check(&list, "fitting.pvc_sch40.union.1-in", 4.0);
    // The other side of each valve is of the lateral's pipe.
    check(&list, "fitting.pe_sidr15.adapter.1-in", 2.0);
    // H1 stands on the line of C1, C2 parts to both sides.
    check(&list, "fitting.pe_sidr15.threaded-tee.1-in", 1.0);
    check(&list, "fitting.pe_sidr15.tee.1-in", 1.0);
    // C1 narrows behind H1, where it turns in the larger size; C1 and C2 end at three heads.
    check(&list, "fitting.pe_sidr15.reducer.1-in-x-3/4-in", 1.0);
    check(&list, "fitting.pe_sidr15.elbow-90.1-in", 1.0);
    check(&list, "fitting.pe_sidr15.threaded-elbow.3/4-in", 1.0);
    check(&list, "fitting.pe_sidr15.threaded-elbow.1-in", 2.0);
    check(&list, "fitting.swing-joint", 4.0);
    assert!(!list.items.iter().any(|item| item.id.contains("elbow-45")));
}

#[test]
fn flexible_pipe_is_laid_round_a_turn_where_it_has_the_room() {
    let (list, ledger) = list_of(&small_yard());
    // The bend on the way to H2: 5 m before and 10 m behind it are plenty.
    let [bends] = list.bends.as_slice() else {
        panic!("{:?}", list.bends)
    };
    assert_eq!((bends.size.as_str(), bends.count), ("3/4 in", 1));
    let working = ledger.get("bends.pe_sidr15.3/4-in").unwrap();
    assert!(!working.inputs.is_empty());
    // With no corner to be cut it takes an elbow.
    let mut yard = small_yard();
    yard.job.practice.takeoff.corner_cut.value = Length::ZERO;
    let (list, _) = list_of(&yard);
    check(&list, "fitting.pe_sidr15.elbow-90.3/4-in", 1.0);
    assert!(list.bends.is_empty());
}

#[test]
fn sticks_and_coils_are_whole() {
    let (list, _) = list_of(&small_yard());
    // 2 + 8 + 5 + 5 m and 1 %: the piece of 8.08 m takes a whole 20 ft stick, 1.984 m and a coupling,
    // the rest 2.02 + 5.05 + 5.05 m; four sticks do, and leave more than is spoiled.
    let pipe = item(&list, "pipe.pvc_sch40.1-in");
    assert!((pipe.net.unwrap().value - 20.2).abs() < 1e-6);
    assert!((pipe.needed.value - 20.2 * 1.02).abs() < 1e-6);
    assert_eq!(pipe.sold_as, "20 ft sticks");
    check(&list, "pipe.pvc_sch40.1-in", 4.0);
    check(&list, "fitting.pvc_sch40.coupling.1-in", 1.0);
    // 5 m to H1; 2 + 3 + 5 m to the tee, 10 m to each side: all from one coil of 100 ft and a second.
    // At H1 the tee, the elbow and the reducer hang together by two pieces of 3 in.
    let coils = item(&list, "pipe.pe_sidr15.1-in");
    assert!((coils.net.unwrap().value - 35.0 * 1.01 - 2.0 * 0.0762).abs() < 1e-6);
    check(&list, "pipe.pe_sidr15.1-in", 2.0);
    assert_eq!(coils.cost, Money::from_units(1.9).times(2.0 * 30.48));
    check(&list, "pipe.pe_sidr15.3/4-in", 1.0);
}

#[test]
fn what_is_ordered_beyond_what_goes_in_is_its_own_part() {
    let (list, _) = list_of(&small_yard());
    let coils = item(&list, "pipe.pe_sidr15.1-in");
    let (net, waste) = (coils.net.unwrap().value, coils.waste.unwrap().value);
    assert!((net + waste - 2.0 * 30.48).abs() < 1e-6);
    assert_eq!(coils.waste_cost, coils.cost.times(waste / (2.0 * 30.48)));
    for sum in &list.counters {
        let items = || list.items.iter().filter(|i| i.counter == sum.counter);
        assert_eq!(sum.lines, items().count());
        assert_eq!(sum.cost, items().map(|i| i.cost).sum::<Money>());
        assert_eq!(sum.waste, items().map(|i| i.waste_cost).sum::<Money>());
    }
    let all: Money = list.counters.iter().map(|sum| sum.cost).sum();
    assert_eq!(all, list.items.iter().map(|item| item.cost).sum::<Money>());
}

#[test]
fn joints_use_up_cement_and_clamps() {
    let (list, _) = list_of(&small_yard());
    let net = |id: &str| item(&list, id).net.unwrap().value;
    // PVC 1 in: a tee, an adapter, four unions, a coupling: 3 + 1 + 4 + 2 joints of 125 to a quart.
    assert!((net("joining.cement") - 10.0 / 125.0).abs() < 1e-12);
    assert!((net("joining.primer") - 5.0 / 125.0).abs() < 1e-12);
    // PE: 2 adapters, a threaded tee, a tee, an elbow, a reducer, three threaded elbows.
    assert!((net("joining.clamps") - (2.0 + 2.0 + 3.0 + 2.0 + 2.0 + 3.0)).abs() < 1e-12);
    // Five threads at PVC, two at PE, and both ends of four swing joints.
    let around = 3.0 * std::f64::consts::PI * 0.0254;
    let tape = (5.0 * 1.315 + 2.0 * 1.189 + 8.0 * 1.05) * around;
    assert!((net("joining.sealing-tape") - tape).abs() < 1e-9);
}

#[test]
fn wire_is_listed_by_gauge_and_run_with_slack_and_tails() {
    let (list, _) = list_of(&small_yard());
    let net = |id: &str| item(&list, id).net.unwrap().value;
    // Own conductors 2 × 7 m, five per cent, two tails of 3 ft each.
    assert!((net("wire.18-awg.own") - (14.0 * 1.05 + 4.0 * 0.9144)).abs() < 1e-5);
    // Common 12 m; a tail at each valve, where it parts and at the controller.
    assert!((net("wire.18-awg.common") - (12.0 * 1.05 + 4.0 * 0.9144)).abs() < 1e-5);
    assert_eq!(
        item(&list, "wire.18-awg.own").sold_as,
        "spools: 1 of 100 ft"
    );
    // Two at each valve, one where the common conductor parts.
    check(&list, "wire.splice", 5.0);
    check(&list, "cable.L1", 20.0 * 1.05 * 1.02);
    // Service, main, to both valves and from the controller: 22 m of a roll of 250 ft.
    assert!((net("tape") - 22.0).abs() < 1e-9);
    check(&list, "tape", 1.0);
    // 66 m of trench: a flag every 15 ft, and one at each of four heads and two valves.
    let route = small_yard().network.length().to_m();
    assert!((net("marking.flags") - 6.0 - (route / 4.572).floor()).abs() < 1e-9);
    check(&list, "marking.paint", 1.0);
}

#[test]
fn a_sleeve_is_cut_from_what_is_left_of_wider_pipe() {
    let mut yard = small_yard();
    // Of sticks of 30 ft the last one keeps 4 m.
    let family = yard.job.practice.pipe.get_mut("pvc_sch40").unwrap();
    family.piece.value = Length::ft(30.0);
    for pipe in yard.water.pipes.iter_mut().filter(|pipe| pipe.line < 2) {
        let size = yard.job.practice.pipe["pvc_sch40"].sizes.last().unwrap();
        pipe.size = size.name.clone();
        (pipe.outside, pipe.inside) = (size.outside, size.inside);
    }
    let (list, ledger) = list_of(&yard);
    let wide = list
        .cutting
        .iter()
        .find(|c| c.item == "pipe.pvc_sch40.3-in")
        .unwrap();
    let sleeve = wide
        .places
        .iter()
        .flatten()
        .find(|place| place.starts_with("sleeve"));
    assert!(sleeve.unwrap().ends_with("wider than it has to be"));
    assert!(
        !list
            .items
            .iter()
            .any(|item| item.id == "pipe.pvc_sch40.2-1/2-in")
    );
    let saved = ledger.get("offcuts.pvc_sch40.2-1/2-in").unwrap();
    assert_eq!(
        saved.value,
        Money::from_units(8.4).times(9.144).amount().into()
    );
    yard.job.practice.takeoff.sleeves_from_offcuts.value = false;
    let (list, _) = list_of(&yard);
    check(&list, "pipe.pvc_sch40.2-1/2-in", 1.0);
}

#[test]
fn valves_of_two_colours_take_two_kinds_of_wire() {
    let mut yard = small_yard();
    yard.water.wires[0].colour = "red".to_owned();
    yard.water.wires[1].colour = "blue".to_owned();
    yard.water.wiring.common_colour = "white".to_owned();
    let (list, _) = list_of(&yard);
    assert_eq!(
        item(&list, "wire.18-awg.red").what,
        "valve wire 18 AWG, red"
    );
    check(&list, "wire.18-awg.blue", 1.0);
    assert_eq!(
        item(&list, "wire.18-awg.common").what,
        "common wire 18 AWG, white"
    );
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
        ("pipe.pvc_sch40.2-1/2-in", 1.0),
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
            prop_assert!((item.net.unwrap().value - pieces.to_m()).abs() < 1e-6);
            prop_assert_eq!(item.order.value as usize, cutting.pieces.len());
            prop_assert!(ordered.to_m() >= item.needed.value - 1e-6);
            prop_assert!(cutting.bound <= cutting.pieces.len());
        }
        let placed = list.cutting.iter().flat_map(|c| {
            let lengths = c.pieces.iter().flatten();
            lengths.zip(c.places.iter().flatten())
        });
        let between: Length = placed.filter(|(_, place)| *place != "between fittings").map(|(l, _)| *l).sum();
        let on_plan: f64 = yard.water.pipes.iter().map(|p| yard.network.stretch(p.stretch).length.to_m()).sum();
        let slack = 1.0 + yard.job.practice.cut.pipe_slack.value.to_one();
        // Each piece is rounded to the micrometre.
        prop_assert!((between.to_m() - on_plan * slack).abs() < 1e-4);
    }

    #[test]
    fn every_end_of_pipe_is_in_one_socket(yard in yards()) {
        let (list, _) = list_of(&yard);
        prop_assert!(!list.joints.is_empty());
        for joints in &list.joints {
            prop_assert_eq!(2 * joints.pieces, joints.sockets + joints.open, "{:?}", joints);
        }
    }

    #[test]
    fn wire_is_cut_from_its_spools(yard in yards()) {
        let (list, _) = list_of(&yard);
        for spooling in &list.spools {
            let item = item(&list, &spooling.item);
            let pieces: Length = spooling.spools.iter().flat_map(|s| &s.pieces).copied().sum();
            prop_assert!((item.net.unwrap().value - pieces.to_m()).abs() < 1e-4);
            let spools: Length = spooling.spools.iter().map(|s| s.length).sum();
            prop_assert!(spooling.bound <= spools + Length::m(1e-6));
            for spool in &spooling.spools {
                let cut: Length = spool.pieces.iter().copied().sum();
                prop_assert!(cut <= spool.length + Length::m(1e-6));
                prop_assert_eq!(spool.pieces.len(), spool.places.len());
            }
        }
    }

    #[test]
    fn orders_hold_what_is_needed(yard in yards()) {
        let (list, _) = list_of(&yard);
        for item in &list.items {
            let (net, waste) = (item.net.unwrap().value, item.waste.unwrap().value);
            prop_assert!(item.needed.value >= net - 1e-9, "{}", item.id);
            prop_assert!(net + waste >= item.needed.value - 1e-6, "{}", item.id);
            prop_assert!(item.waste_cost <= item.cost, "{}", item.id);
        }
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
        let tees = list.items.iter().filter(|item| item.id.contains("pe_sidr15.threaded-tee"));
        let counted: f64 = tees.map(|item| item.net.unwrap().value).sum();
        prop_assert_eq!(counted as usize, heads - circuits);
    }
}
