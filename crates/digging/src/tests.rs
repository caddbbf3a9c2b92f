//! The stage as a whole, on small handmade networks.

use crate::{Digging, MachineId, dig, earth, fixture, section, unit_cost};
use job::practice::{Sides, SidesList};
use job::prices::Widths;
use job::{Job, MethodId, Severity, SurfaceKind, Texture};
use proptest::prelude::*;
use quantity::{Area, Length, Money, Ratio, Volume};
use routes::{LineKind, Network, SleeveUse, StretchId, Zone};
use std::collections::BTreeSet;
use working::{Ledger, Value};

fn plan(job: &Job, network: &Network) -> (Digging, Ledger) {
    let mut ledger = Ledger::new();
    let water = fixture::water(network);
    let digging = dig(job, network, &water, &mut ledger);
    assert_eq!(digging.digs.len(), network.stretches.len());
    (digging, ledger)
}

fn straight(metres: f64) -> Network {
    fixture::polyline(&[(0.0, 0.0), (metres, 0.0)])
}

fn id(name: &str) -> MethodId {
    MethodId(name.to_owned())
}

fn why<'a>(digging: &'a Digging, stretch: usize, method: &str) -> &'a str {
    let rejected = &digging.digs[stretch].rejected;
    let hit = rejected.iter().find(|r| r.method == id(method));
    hit.map_or("", |r| r.why.as_str())
}

#[test]
fn a_short_lateral_is_dug_by_hand_and_a_long_one_is_worth_a_machine() {
    let job = fixture::job();
    let (short, _) = plan(&job, &straight(4.0));
    assert_eq!(short.digs[0].method, id("spade"));
    assert!(short.hires.is_empty());
    let (long, _) = plan(&job, &straight(300.0));
    assert_eq!(long.hires.len(), 1);
    assert_eq!(long.digs[0].method.0, long.hires[0].machine.0);
    assert_eq!(long.hires[0].length, Length::m(300.0));
}

#[test]
fn a_utility_zone_leaves_only_hand_work_and_says_so() {
    let job = fixture::job();
    let mut network = fixture::polyline(&[(0.0, 0.0), (100.0, 0.0), (103.0, 0.0), (300.0, 0.0)]);
    network.stretches[1].ground.zones = vec![Zone::Utility("G1".into())];
    let (digging, _) = plan(&job, &network);
    assert_eq!(digging.digs[1].method, id("spade"));
    assert_ne!(digging.digs[0].method, id("spade"));
    assert!(
        digging.digs[1]
            .reason
            .contains("within 24 in of gas line G1")
    );
    assert!(why(&digging, 1, "walk_trencher").contains("gas line G1"));
    assert!(
        digging
            .findings
            .iter()
            .any(|f| f.rule == "utility-zone" && f.subject == "G1")
    );
}

#[test]
fn the_gate_that_keeps_a_machine_out_is_named() {
    let mut job = fixture::job();
    job.prices
        .method
        .retain(|method, _| *method != id("skid_trencher"));
    let mut network = straight(200.0);
    fixture::carry(&mut network, "main", LineKind::Main);
    network.stretches[0].ground.blocked = vec![routes::Blocked {
        method: id("ride_trencher"),
        why: "gate GT1 is 48 in clear, 60 in needed".into(),
        pinch: None,
    }];
    let (digging, _) = plan(&job, &network);
    let dug = &digging.digs[0];
    assert_eq!(dug.method, id("spade"));
    assert!(
        dug.reason.contains("less than mini-excavator"),
        "{}",
        dug.reason
    );
    assert!(
        dug.reason.contains("no ride-on trencher here: gate GT1"),
        "{}",
        dug.reason
    );
}

#[test]
fn pvc_is_not_pulled_and_stones_keep_the_plow_out() {
    let job = fixture::job();
    let mut network = straight(100.0);
    fixture::carry(&mut network, "main", LineKind::Main);
    network.stretches[0].ground.soil = fixture::soil(Texture::Loam, 0.20);
    let (digging, _) = plan(&job, &network);
    let why = why(&digging, 0, "walk_plow");
    assert!(why.contains("not for PVC pipe (main 1-1/4 in)"), "{why}");
    assert!(
        why.contains("copes with 10% stones by volume; here 20%"),
        "{why}"
    );
    assert!(why.contains("reaches 14 in deep; here 19.66 in"), "{why}");
}

#[test]
fn what_lies_in_a_shared_trench_has_its_order_cover_and_width() {
    let job = fixture::job();
    let mut network = straight(20.0);
    fixture::carry(&mut network, "main", LineKind::Main);
    fixture::carry(&mut network, "wire", LineKind::Wire);
    fixture::carry(&mut network, "cable L1", LineKind::Cable("L1".into()));
    let (digging, _) = plan(&job, &network);
    let section = &digging.digs[0].section;
    let whats: Vec<&str> = section.contents.iter().map(|c| c.what.as_str()).collect();
    assert_eq!(
        whats,
        ["lateral C1 1 in", "main 1-1/4 in", "2 wires", "cable L1"]
    );
    let inches = |l: Length| l.small().show(quantity::Units::Us);
    // 18 in of cover over the 1.66 in main; all but the cable stand on the floor.
    assert_eq!(inches(section.depth), "19.66 in");
    assert_eq!(inches(section.contents[0].cover), "18.47 in");
    assert_eq!(inches(section.contents[1].cover), "18 in");
    assert_eq!(inches(section.contents[3].cover), "6 in");
    // 1.189 + 1.66 + 2 x 0.2 + two gaps of 2 in + two of 1 in at the sides.
    assert!(
        section.width_rule.contains("9.25 in"),
        "{}",
        section.width_rule
    );
    assert!(
        section.depth_rule.contains("main 1-1/4 in"),
        "{}",
        section.depth_rule
    );
}

#[test]
fn a_cable_without_room_above_the_pipe_lies_beside_it() {
    let job = fixture::job();
    let mut network = straight(20.0);
    fixture::carry(&mut network, "cable L1", LineKind::Cable("L1".into()));
    let (digging, _) = plan(&job, &network);
    let cable = &digging.digs[0].section.contents[1];
    assert!(cable.cover > Length::inch(8.0), "{cable:?}");
}

#[test]
fn paving_is_crossed_through_a_sleeve_only() {
    let job = fixture::job();
    let mut network = straight(5.0);
    network.stretches[0].ground.surface = SurfaceKind::Concrete;
    network.stretches[0].sleeve = Some(SleeveUse {
        existing: None,
        paving: "D1".into(),
        angle: quantity::Angle::deg(90.0),
    });
    let (fresh, _) = plan(&job, &network);
    let dug = &fresh.digs[0];
    assert_eq!(dug.method, id("sleeve"));
    assert_eq!(dug.earth.bank, Volume::ZERO);
    assert!((dug.section.depth.to_in() - 19.189).abs() < 1e-9);
    assert!(why(&fresh, 0, "spade").contains("only through a sleeve"));
    network.stretches[0].sleeve.as_mut().unwrap().existing = Some("SL".into());
    let (existing, _) = plan(&job, &network);
    assert!(existing.digs[0].cost < dug.cost);
    assert!(existing.digs[0].reason.contains("SL"));
    network.stretches[0].sleeve = None;
    let (none, _) = plan(&job, &network);
    assert_eq!(none.findings[0].rule, "no-feasible-method");
}

#[test]
fn a_steep_slope_lets_laterals_lie_on_the_surface_but_not_wire() {
    let job = fixture::job();
    let mut network = straight(30.0);
    network.stretches[0].ground.slope = Ratio::percent(65.0);
    let (digging, _) = plan(&job, &network);
    assert_eq!(digging.digs[0].method, id("surface"));
    assert_eq!(digging.digs[0].section.depth, Length::ZERO);
    fixture::carry(&mut network, "wire", LineKind::Wire);
    let (digging, _) = plan(&job, &network);
    let conflict = &digging.findings[0];
    assert_eq!(conflict.rule, "no-feasible-method");
    assert_eq!(conflict.severity, Severity::Warning);
    assert_eq!(conflict.subject, "S1");
    assert_eq!(digging.digs[0].method, id("spade"));
    assert!(
        conflict.what.contains("slopes up to 60%; here 65%"),
        "{conflict:?}"
    );
}

#[test]
fn short_stretches_in_line_are_one_run_for_a_machine() {
    let job = fixture::job();
    let points: Vec<(f64, f64)> = (0..=150).map(|i| (f64::from(i), 0.0)).collect();
    let mut line = fixture::polyline(&points);
    for node in &mut line.nodes {
        node.what = routes::NodeKind::Change;
    }
    let (digging, _) = plan(&job, &line);
    assert_eq!(digging.hires.len(), 1, "{:?}", digging.digs[0].rejected);
    let points: Vec<(f64, f64)> = (0..=150)
        .map(|i| (f64::from(i), f64::from(i % 2)))
        .collect();
    let (zigzag, _) = plan(&job, &fixture::polyline(&points));
    assert!(why(&zigzag, 0, "walk_trencher").contains("starts no run under 6.0 ft"));
}

#[test]
fn deep_trenches_get_a_way_out_slopes_and_a_warning() {
    let mut job = fixture::job();
    job.practice.cover.lateral.value = Length::ft(5.5);
    job.prices
        .method
        .retain(|method, _| *method != id("backhoe"));
    job.practice.excavation.sides.value = SidesList(vec![Sides::Sloped]);
    let (digging, ledger) = plan(&job, &straight(30.0));
    let section = &digging.digs[0].section;
    assert_eq!(digging.digs[0].method, id("mini_excavator"));
    assert!(section.egress && section.protection);
    let expected = section.width + section.depth * 3.0; // type C: 1.5 to each side
    assert!((section.top_width.to_m() - expected.to_m()).abs() < 1e-9);
    assert!(digging.findings.iter().any(|f| f.rule == "deep-trench"));
    assert!(ledger.get("stretch.S1.top_width").is_some());
}

#[test]
fn published_sloped_trenches() {
    // 29 CFR 1926 Subpart P Appendix B Table B-1 slopes on a floor 2 ft wide: depth in ft, width at
    // grade in ft; then volume per ft of length in cubic yards at 6 ft.
    let rows = [
        (0.75, 5.0, 9.5),
        (0.75, 6.0, 11.0),
        (0.75, 8.0, 14.0),
        (1.0, 5.0, 12.0),
        (1.0, 6.0, 14.0),
        (1.0, 8.0, 18.0),
        (1.5, 5.0, 17.0),
        (1.5, 6.0, 20.0),
        (1.5, 8.0, 26.0),
    ];
    for (slope, depth, expected) in rows {
        let top = section::top_width(Length::ft(2.0), Ratio::one(slope), Length::ft(depth));
        assert!((top.to_ft() - expected).abs() < 1e-9);
    }
    for (slope, expected) in [(0.75, 1.44444), (1.0, 1.77778), (1.5, 2.44444)] {
        let volume = section::volume(
            Length::ft(2.0),
            Ratio::one(slope),
            Length::ft(6.0),
            Length::ft(1.0),
        );
        assert!((volume.to_yd3() - expected).abs() < 1e-5);
    }
}

#[test]
fn the_published_hand_trench_takes_as_long_as_published() {
    // Guild of Project Controls outputs: 40 m x 0.20 m x 0.45 m in clay at 0.46 m³/h.
    let bank = section::volume(
        Length::m(0.2),
        Ratio::ZERO,
        Length::m(0.45),
        Length::m(40.0),
    );
    let output = quantity::DigRate::m3_per_h(0.46);
    let time = crate::work::hand_time(bank, output, 1, 1.0, 1.0);
    assert!((time.to_h() - 7.82609).abs() < 1e-4);
}

#[test]
fn every_reported_figure_has_its_working() {
    let job = fixture::job();
    let mut network = fixture::polyline(&[(0.0, 0.0), (150.0, 0.0), (152.0, 0.0)]);
    network.stretches[0].ground.soil = fixture::soil(Texture::Clay, 0.40);
    let (digging, ledger) = plan(&job, &network);
    for stretch in ["S1", "S2"] {
        for name in [
            "length", "method", "depth", "width", "bank", "loose", "backfill", "surplus", "crown",
            "restore", "hours", "cost",
        ] {
            assert!(
                ledger.get(&format!("stretch.{stretch}.{name}")).is_some(),
                "{name}"
            );
        }
    }
    for hire in &digging.hires {
        for name in ["hours", "days", "cost"] {
            assert!(
                ledger
                    .get(&format!("hire.{}.{name}", hire.machine))
                    .is_some()
            );
        }
    }
    // Every figure that a working refers to is there.
    for (id, working) in ledger.iter() {
        for input in &working.inputs {
            if let Some(other) = input.from.strip_prefix("figure ") {
                assert!(ledger.get(other).is_some(), "{id} refers to {other}");
            }
        }
    }
}

#[test]
fn totals_balance_to_the_cent() {
    let job = fixture::job();
    let points: Vec<(f64, f64)> = (0..=40)
        .map(|i| (f64::from(i) * 7.0, f64::from(i % 3)))
        .collect();
    let (digging, ledger) = plan(&job, &fixture::polyline(&points));
    let total = digging.stretch_cost() + digging.hire_cost();
    let Value::Amount(shown) = ledger.get("dig.cost").unwrap().value else {
        panic!("a cost is an amount");
    };
    assert_eq!(Money::from_units(shown.value), total);
    let parts: Money = digging.digs.iter().map(|d| d.cost).sum::<Money>()
        + digging.hires.iter().map(|h| h.cost).sum();
    assert_eq!(parts, total);
}

#[test]
fn unit_cost_follows_the_ground_and_the_machines_on_site() {
    let job = fixture::job();
    let ground = fixture::ground();
    let none = BTreeSet::new();
    let by_hand = unit_cost(&job, &ground, Some(&none));
    let any = unit_cost(&job, &ground, None);
    assert!(any < by_hand && any > 0.0);
    let trencher = BTreeSet::from([MachineId("walk_trencher".into())]);
    let with_trencher = unit_cost(&job, &ground, Some(&trencher));
    assert!(any <= with_trencher && with_trencher <= by_hand);
    let mut paved = ground.clone();
    paved.surface = SurfaceKind::Concrete;
    assert!(unit_cost(&job, &paved, None) > by_hand);
    let mut roots = ground;
    roots.zones = vec![Zone::Roots("T1".into())];
    assert!(unit_cost(&job, &roots, None) > by_hand);
}

#[test]
fn an_empty_network_needs_nothing() {
    let mut network = straight(1.0);
    network.stretches.clear();
    network.lines.clear();
    let (digging, _) = plan(&fixture::job(), &network);
    assert!(digging.digs.is_empty() && digging.hires.is_empty());
}

const TEXTURES: [Texture; 3] = [Texture::Sand, Texture::Loam, Texture::Clay];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn volumes_close(
        length in 0.5..200.0, cover in 0.1..3.0, coarse in 0.0..0.9, soil in 0_usize..3,
        shared in any::<bool>(),
    ) {
        let mut job = fixture::job();
        job.practice.cover.lateral.value = Length::m(cover);
        let mut network = straight(length);
        if shared {
            fixture::carry(&mut network, "main", LineKind::Main);
        }
        network.stretches[0].ground.soil = fixture::soil(TEXTURES[soil], coarse);
        let (digging, _) = plan(&job, &network);
        let e = &digging.digs[0].earth;
        let bank = e.bank.to_m3();
        prop_assert!((bank - (e.backfill + e.surplus).to_m3()).abs() <= 1e-3 * bank);
        prop_assert!(e.backfill >= Volume::ZERO && e.surplus >= Volume::ZERO);
        prop_assert!(e.crown >= Length::ZERO);
        // The crown holds just what the tamped backfill stands loose.
        let class = job.practice.soil_class_of(TEXTURES[soil]);
        let factor = class.bank_to_loose.value;
        let placed = earth::placed_over_bank(factor, job.practice.fill.tamped_share.value);
        let dug = &digging.digs[0];
        let trench = dug.section.top_width * Length::m(length);
        let at_grade = dug.pull.as_ref().map_or(trench, |p| p.pit_area()).to_m2();
        let proud = e.crown.to_m() * at_grade;
        prop_assert!((proud - e.backfill.to_m3() * (placed - 1.0)).abs() <= 1e-9 + 1e-6 * bank);
    }

    #[test]
    fn a_deeper_trench_never_costs_less(
        length in 1.0..200.0, cover in 0.1..2.0, more in 0.0..1.0, coarse in 0.0..0.9,
        soil in 0_usize..3,
    ) {
        let mut job = fixture::job();
        let mut network = straight(length);
        network.stretches[0].ground.soil = fixture::soil(TEXTURES[soil], coarse);
        job.practice.cover.lateral.value = Length::m(cover);
        let shallow = plan(&job, &network).0;
        job.practice.cover.lateral.value = Length::m(cover + more);
        let deep = plan(&job, &network).0;
        let conflict = |d: &Digging| d.findings.iter().any(|f| f.rule == "no-feasible-method");
        // A conflict is costed as if dug by hand, so only feasible plans compare.
        prop_assume!(!conflict(&shallow) && !conflict(&deep));
        let total = |d: &Digging| d.stretch_cost() + d.hire_cost();
        prop_assert!(total(&deep) >= total(&shallow));
    }

    #[test]
    fn more_stones_never_make_pulling_feasible(coarse in 0.0..0.5, more in 0.0..0.5) {
        let job = fixture::job();
        let mut network = straight(60.0);
        let mut pulls = |coarse: f64| {
            network.stretches[0].ground.soil = fixture::soil(Texture::Loam, coarse);
            let digging = plan(&job, &network).0;
            ["ride_plow", "walk_plow"].map(|m| why(&digging, 0, m).is_empty())
        };
        let (few, many) = (pulls(coarse), pulls(coarse + more));
        for (few, many) in few.into_iter().zip(many) {
            prop_assert!(few || !many);
        }
    }

    #[test]
    fn the_cut_is_the_narrowest_that_fits(
        needed in 0.0..1.0, mut cuts in prop::collection::vec(0.0..1.0, 0..5),
    ) {
        cuts.sort_by(f64::total_cmp);
        let widths = Widths(cuts.iter().map(|m| Length::m(*m)).collect());
        let expected = cuts.iter().copied().find(|m| *m >= needed);
        let found = section::cut_width(&widths, Length::m(needed));
        prop_assert_eq!(found.map(Length::to_m), expected);
    }
}

#[test]
fn crown_of_nothing_is_nothing() {
    let crown = earth::crown(
        Volume::m3(1.0),
        Ratio::one(1.25),
        Ratio::one(0.75),
        Area::ZERO,
    );
    assert_eq!(crown, Length::ZERO);
}

#[test]
fn wires_are_counted_by_the_valves_behind() {
    let mut network = fixture::polyline(&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)]);
    fixture::carry(&mut network, "wire", LineKind::Wire);
    network.lines[1].terminals = vec![routes::NodeId(1), routes::NodeId(2)];
    let counts = crate::contents::conductors(&network);
    assert_eq!(counts[&StretchId(0)], 3);
    assert_eq!(counts[&StretchId(1)], 2);
}
