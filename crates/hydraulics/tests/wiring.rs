//! The wire in trees laid by hand and at random, against every choice of gauges tried.

mod site;

use hydraulics::{Hydraulics, wire};
use job::practice::WireSystem;
use proptest::prelude::*;
use quantity::{Current, Length, Voltage};
use routes::{LineKind, NodeKind};
use site::{Site, rules};

/// A controller at the origin and a wire that goes out in legs: each valve hangs on the one named (0 is
/// the controller), so far off.
fn legs(legs: &[(usize, f64)]) -> Site {
    let mut site = Site::new();
    let controller = site.node(0.0, 0.0, NodeKind::Controller("CT".into()));
    let wire = site.line("wire", LineKind::Wire, controller, &[]);
    let mut nodes = vec![controller];
    for (i, (on, length)) in legs.iter().enumerate() {
        let number = i as u32 + 1;
        let (valve, lateral) = site.valve(number, site.backflow(), 3.0 + i as f64, 0.0);
        site.demand(lateral, &format!("H{number}"), valve, 1.0, 10.0);
        let stretch = site.lay(wire, nodes[on % nodes.len()], valve);
        site.network.stretches[stretch.0 as usize].length = Length::m(*length);
        site.network.lines[wire].terminals.push(valve);
        nodes.push(valve);
    }
    site
}

/// Way to each valve and the way that two valves share, worked out apart from the crate.
fn shared(legs: &[(usize, f64)], a: usize, b: usize) -> f64 {
    let way = |mut node: usize| {
        let mut way = Vec::new();
        while node > 0 {
            way.push(node);
            node = legs[node - 1].0 % node;
        }
        way
    };
    let of_b = way(b + 1);
    let both = way(a + 1).into_iter().filter(|node| of_b.contains(node));
    both.map(|node| legs[node - 1].1).sum()
}

const TAIL: f64 = 0.9144;

fn drop_of(
    site: &Site,
    legs: &[(usize, f64)],
    valve: usize,
    (own, common): (usize, usize),
    amps: f64,
) -> f64 {
    let r = |g: usize| site.job.practice.wire.gauge[g].resistance.to_ohm_per_m();
    let conductor = shared(legs, valve, valve) * 1.05 + 2.0 * TAIL;
    let alone = conductor * (r(own) + r(common)) * amps;
    let others = (0..legs.len()).filter(|u| *u != valve);
    let most = match site.job.practice.wire.valves_at_once.value {
        2 => others
            .map(|u| shared(legs, valve, u) * 1.05 + TAIL)
            .fold(0.0, f64::max),
        _ => 0.0,
    };
    alone + most * r(common) * amps
}

fn index(site: &Site, name: &str) -> usize {
    let gauges = &site.job.practice.wire.gauge;
    gauges
        .iter()
        .position(|g| g.name == name)
        .expect("a gauge of the practice")
}

fn copper(site: &Site, legs: &[(usize, f64)], common: usize, own: &[usize]) -> f64 {
    let r = |g: usize| site.job.practice.wire.gauge[g].resistance.to_ohm_per_m();
    let tree: f64 = legs.iter().map(|leg| leg.1).sum();
    let common = (tree * 1.05 + TAIL * (legs.len() as f64 + 1.0)) / r(common);
    let of = |v: usize| (shared(legs, v, v) * 1.05 + 2.0 * TAIL) / r(own[v]);
    common + (0..legs.len()).map(of).sum::<f64>()
}

fn chosen(site: &Site, result: &Hydraulics) -> (usize, Vec<usize>) {
    let own = result.wires.iter().map(|run| index(site, &run.gauge));
    (index(site, &result.wiring.common), own.collect())
}

#[test]
fn a_common_to_many_valves_is_thicker_than_their_own() {
    let far: Vec<(usize, f64)> = (0..6)
        .map(|i| (i, if i == 0 { 200.0 } else { 1.0 }))
        .collect();
    let site = legs(&far);
    let (result, ledger) = site.size();
    let (common, own) = chosen(&site, &result);
    assert!(own.iter().all(|g| *g < common), "{own:?} and {common}");
    assert_eq!(result.wiring.common_colour, "white");
    assert_eq!(result.wires[0].colour, "red");
    assert!(ledger.get("wire.common.gauge").is_some());
    assert!(ledger.get("wire.V3.hold_drop").is_some());
    assert_eq!(result.wiring.longest.len(), 25);
    for reach in &result.wiring.longest {
        let id = format!("wire.longest.{}.{}", reach.own, reach.common).replace(' ', "-");
        assert!(ledger.get(&id).is_some(), "{id}");
    }
}

/// 4 V at 0.40 A in 18 AWG there and back: 643.501 ft; in 14 AWG 1628.66 ft, worked from NEC Chapter 9
/// Table 8.
#[test]
fn the_table_of_longest_runs_is_the_worked_one() {
    let mut site = legs(&[(0, 50.0)]);
    site.job.practice.wire.hold.value = Current::a(0.20);
    let (result, _) = site.size();
    let reach = |own: &str, common: &str| {
        let rows = result.wiring.longest.iter();
        let found = rows.clone().find(|r| r.own == own && r.common == common);
        found.unwrap().length.to_ft()
    };
    assert!((reach("18 AWG", "18 AWG") / 643.501 - 1.0).abs() < 1e-5);
    assert!((reach("14 AWG", "14 AWG") / 1628.66 - 1.0).abs() < 1e-5);
    assert!((reach("18 AWG", "14 AWG") - reach("14 AWG", "18 AWG")).abs() < 1e-9);
}

/// Two solenoids of 0.25 A at 400 and 900 ft on one common of 14 AWG: 0.99775 V in the common, the
/// current of both over the first 400 ft.
#[test]
fn two_valves_at_once_load_the_common_as_in_the_worked_case() {
    let ft = 0.3048;
    let mut site = legs(&[(0, 400.0 * ft), (1, 500.0 * ft)]);
    let practice = &mut site.job.practice;
    practice.cut.wire_slack.value = quantity::Ratio::ZERO;
    practice.takeoff.wire_tail.value = Length::ZERO;
    practice.wire.valves_at_once.value = 2;
    practice.wire.inrush.value = Current::a(0.25);
    practice.wire.gauge.retain(|g| g.name == "14 AWG");
    let (result, _) = site.size();
    let own = wire::one_way(
        Length::ft(900.0),
        site.job.practice.wire.gauge[0].resistance,
        Current::a(0.25),
    );
    let in_common = result.wires[1].drop - own;
    assert!((in_common.to_v() - 0.99775).abs() < 1e-6, "{in_common:?}");
}

#[test]
fn a_solenoid_that_hardly_holds_decides_the_gauge() {
    let mut site = legs(&[(0, 150.0)]);
    let easy = site.size().0;
    site.job.practice.wire.hold_drop.value = Voltage::v(1.0);
    let (strict, _) = site.size();
    assert!(strict.wires[0].hold_drop <= Voltage::v(1.0));
    assert!(strict.wires[0].drop < easy.wires[0].drop);
    site.network.stretches.last_mut().unwrap().length = Length::m(800.0);
    let (far, _) = site.size();
    let found = far
        .findings
        .iter()
        .find(|f| f.rule == "wire-too-long")
        .unwrap();
    assert!(found.what.contains("while it holds") || found.what.contains("as it opens"));
}

#[test]
fn two_wires_serve_all_valves_with_one_gauge() {
    let mut site = legs(&[(0, 120.0), (1, 80.0), (1, 40.0)]);
    site.job.practice.wire.system.value = WireSystem::TwoWire;
    let (result, ledger) = site.size();
    assert_eq!(result.wiring.system, "two-wire");
    assert!(
        result
            .wires
            .iter()
            .all(|run| run.gauge == result.wiring.common)
    );
    let gauge = &site.job.practice.wire.gauge[index(&site, &result.wiring.common)];
    // The far valve: its conductor there and back at inrush, and what the decoders draw: 3 behind the
    // first leg, 1 behind the second, 4 tails.
    let on = (200.0 * 1.05 + 2.0 * TAIL) * 0.40;
    let idle = (120.0 * 1.05 * 3.0 + 80.0 * 1.05 + 4.0 * TAIL) * 0.001;
    let lost = 2.0 * gauge.resistance.to_ohm_per_m() * (on + idle);
    assert!((result.wires[1].drop.to_v() - lost).abs() < 1e-9);
    assert!(ledger.get("wire.V2.drop").is_some());
    site.network.stretches.last_mut().unwrap().length = Length::m(5000.0);
    assert!(rules(&site.size().0).contains(&"wire-too-long"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn the_choice_is_the_least_copper_of_all_choices_that_keep_the_drops(
        tree in prop::collection::vec((0..5usize, 1.0..180.0_f64), 1..5),
        at_once in 1..3u32,
    ) {
        let mut site = legs(&tree);
        site.job.practice.wire.valves_at_once.value = at_once;
        let (result, _) = site.size();
        let n = site.job.practice.wire.gauge.len();
        let rules_of = &site.job.practice.wire;
        let limits = [
            (rules_of.inrush.value.to_a(), rules_of.voltage_drop.value.to_v()),
            (rules_of.hold.value.to_a(), rules_of.hold_drop.value.to_v()),
        ];
        let keeps = |v: usize, own: usize, common: usize| limits.iter().all(|(amps, limit)| {
            drop_of(&site, &tree, v, (own, common), *amps) <= *limit
        });
        // Every common with every own conductor of every valve.
        let mut least = f64::INFINITY;
        for common in 0..n {
            for code in 0..n.pow(tree.len() as u32) {
                let own: Vec<usize> =
                    (0..tree.len()).map(|v| code / n.pow(v as u32) % n).collect();
                if (0..tree.len()).all(|v| keeps(v, own[v], common)) {
                    least = least.min(copper(&site, &tree, common, &own));
                }
            }
        }
        let (common, own) = chosen(&site, &result);
        let too_long = rules(&result).contains(&"wire-too-long");
        prop_assert_eq!(too_long, least.is_infinite());
        if !too_long {
            let mine = copper(&site, &tree, common, &own);
            prop_assert!((mine / least - 1.0).abs() < 1e-9, "{mine} over {least}");
        }
        for (v, run) in result.wires.iter().enumerate() {
            let lost = drop_of(&site, &tree, v, (own[v], common), run.current.to_a());
            prop_assert!((run.drop.to_v() - lost).abs() < 1e-9);
        }
    }
}
