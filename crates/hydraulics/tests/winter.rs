//! Low points, volumes and low heads of small sites.

mod site;

use job::Basis;
use job::practice::DrainDown;
use quantity::{DegreeDays, Length, Pressure, Volume};
use routes::NodeId;
use site::{Site, rules};
use std::f64::consts::FRAC_PI_4;

#[test]
fn a_valley_and_a_low_end_want_a_drain_and_low_heads_run_empty() {
    let mut site = Site::new();
    site.job.practice.cold.check_valve.value = Length::ZERO;
    let lateral = site.row(1, 4, 10.0, 2.0, 20.0);
    // Valve, then heads at 1, -1, 2 and 0.5 m.
    for (node, height) in [(3, 1.0), (4, -1.0), (5, 2.0), (6, 0.5)] {
        site.raise(NodeId(node), Length::m(height));
    }
    let (result, ledger) = site.size();
    let cold = &result.cold;
    let of_lateral = cold.low_points.iter().filter(|p| p.line == lateral);
    let nodes: Vec<u32> = of_lateral.map(|p| p.node.0).collect();
    // The valve end, the valley and the far end.
    assert_eq!(nodes, [2, 4, 6]);
    let low: Vec<&str> = cold.low_heads.iter().map(|h| h.outlet.as_str()).collect();
    assert_eq!(low, ["H1-1", "H1-2", "H1-4"]);
    let most = cold
        .low_heads
        .iter()
        .max_by(|a, b| a.drains.total_cmp(&b.drains));
    assert_eq!(most.unwrap().outlet, "H1-2");
    assert!(ledger.get("head.H1-2.drains").is_some());
    assert!(ledger.get("cold.main.air_volume").is_some());
    let inside: f64 = result
        .pipes
        .iter()
        .filter(|p| p.line == lateral)
        .map(|p| {
            let d = p.inside.to_m();
            FRAC_PI_4 * d * d * 10.0
        })
        .sum();
    let volume = cold.volumes.iter().find(|v| v.line == lateral).unwrap();
    assert!((volume.inside.to_m3() / inside - 1.0).abs() < 1e-9);
}

#[test]
fn a_level_line_has_one_low_point_at_an_end() {
    let mut site = Site::new();
    let lateral = site.row(1, 3, 10.0, 2.0, 20.0);
    let (result, _) = site.size();
    let points: Vec<_> = result
        .cold
        .low_points
        .iter()
        .filter(|p| p.line == lateral)
        .collect();
    assert_eq!(points.len(), 1);
    assert!(points[0].dead_end);
    assert!(result.cold.low_heads.is_empty());
}

/// Valve and heads at 1, 0, -9 and 3 m; the check valves hold 7 ft, 2.1336 m.
fn hill() -> (Site, usize) {
    let mut site = Site::new();
    let lateral = site.row(1, 3, 10.0, 2.0, 20.0);
    for (node, height) in [(2, 1.0), (4, -9.0), (5, 3.0)] {
        site.raise(NodeId(node), Length::m(height));
    }
    (site, lateral)
}

#[test]
fn what_a_check_valve_does_not_hold_runs_out_through_the_lowest_head() {
    let (site, lateral) = hill();
    let (result, ledger) = site.size();
    let low: Vec<&str> = result
        .cold
        .low_heads
        .iter()
        .map(|h| h.outlet.as_str())
        .collect();
    // H1-1 lies 3 m below the highest place, H1-2 12 m.
    assert_eq!(low, ["H1-1", "H1-2"]);
    let inside: Vec<f64> = result
        .pipes
        .iter()
        .filter(|p| p.line == lateral)
        .map(|p| FRAC_PI_4 * p.inside.to_m().powi(2) * 10.0)
        .collect();
    // Above -9 + 2.1336 m lie: all of the first pipe, from 1 to 0 m; of the second, from 0 to -9 m,
    // 6.8664 in 9; of the third, from -9 to 3 m, 9.8664 in 12.
    let by_hand = inside[0] + inside[1] * 6.8664 / 9.0 + inside[2] * 9.8664 / 12.0;
    let empty = &result.cold.low_laterals[0];
    assert_eq!((empty.circuit.as_str(), empty.heads), ("C1", 2));
    assert_eq!(empty.lowest, "H1-2");
    assert!((empty.below.to_m() - 12.0).abs() < 1e-9);
    assert!((empty.drains.to_m3() / by_hand - 1.0).abs() < 1e-9);
    assert!(ledger.get("cold.lateral-C1.drains_through").is_some());
    let finding = result
        .findings
        .iter()
        .find(|f| f.rule == "low-head-drainage");
    let finding = finding.expect("a lateral that runs empty");
    assert_eq!(finding.subject, "C1");
    assert!(finding.what.contains("39.4 ft"), "{}", finding.what);
    let gallons = Volume::m3(by_hand).liquid().show(site.job.units);
    assert!(finding.what.contains(&gallons), "{}", finding.what);
}

#[test]
fn check_valves_that_hold_enough_keep_a_lateral_full() {
    let (mut site, _) = hill();
    site.job.practice.cold.check_valve.value = Length::m(12.0);
    let (result, _) = site.size();
    assert!(result.cold.low_heads.is_empty());
    assert!(!rules(&result).contains(&"low-head-drainage"));
}

#[test]
fn the_weakest_pipe_on_its_way_bounds_the_air() {
    let mut site = Site::new();
    let rigid = site.row(1, 2, 10.0, 2.0, 20.0);
    let valve = site.node(2.0, 5.0, routes::NodeKind::Valve("V2".into()));
    site.lay(1, site.backflow(), valve);
    let flexible = site.circuit(2, valve, "pe_sidr15");
    site.head(flexible, "H2-1", valve, (2.0, 15.0), 2.0, 20.0);
    let cap = |site: &Site, line: usize| {
        let (result, _) = site.size();
        let volume = result.cold.volumes.iter().find(|v| v.line == line).unwrap();
        volume.air_cap.map(Pressure::to_psi)
    };
    let near = |cap: Option<f64>, psi: f64| (cap.unwrap() - psi).abs() < 1e-9;
    assert!(near(cap(&site, 1), 80.0));
    assert!(near(cap(&site, rigid), 80.0));
    assert!(near(cap(&site, flexible), 50.0));
    let (result, ledger) = site.size();
    for line in ["main", "lateral-C1", "lateral-C2"] {
        assert!(
            ledger.get(&format!("cold.{line}.air_cap")).is_some(),
            "{line}"
        );
    }
    let of_air: Vec<_> = result
        .findings
        .iter()
        .filter(|f| f.rule == "blow-out")
        .collect();
    assert_eq!(of_air.len(), 1);
    assert!(of_air[0].what.contains("50.0 psi") && of_air[0].mend.contains("eye protection"));
    // A rating below the custom counts instead, and a weak main bounds what lies behind it.
    for size in &mut site.job.practice.pipe.get_mut("pvc_sch40").unwrap().sizes {
        size.rating = Pressure::psi(45.0);
    }
    assert!(near(cap(&site, 1), 45.0));
    assert!(near(cap(&site, flexible), 45.0));
}

#[test]
fn drained_pipe_has_drains_at_the_low_points_of_main_and_laterals_and_no_air() {
    let (mut site, lateral) = hill();
    site.job.practice.cold.drain_down.value = DrainDown::Drained;
    let (result, ledger) = site.size();
    let cold = &result.cold;
    assert!(
        cold.drains
            .iter()
            .all(|at| [1, lateral].contains(&cold.low_points[*at].line))
    );
    let of_lateral = cold.drains.iter().map(|at| &cold.low_points[*at]);
    let nodes: Vec<u32> = of_lateral
        .filter(|p| p.line == lateral)
        .map(|p| p.node.0)
        .collect();
    assert_eq!(nodes, [4]);
    assert!(ledger.get("cold.main.drains").is_some());
    assert!(ledger.get("cold.main.air_cap").is_none());
    assert!(cold.volumes.iter().all(|v| v.air_cap.is_none()));
    assert!(result.findings.iter().all(|f| f.rule != "blow-out"));
}

#[test]
fn a_freezing_index_gives_a_depth_of_frost_unless_one_is_given() {
    let (mut site, _) = hill();
    let (result, ledger) = site.size();
    assert_eq!(result.cold.frost_depth, Length::ZERO);
    assert!(ledger.get("cold.frost_depth").is_none());
    // Sand of 1600 kg/m3 with 8 % of water freezes deepest; 334 944 J/kg, n 0.9, k 1.3 W/(m·K).
    site.job.practice.frost.freezing_index.value = DegreeDays::c_days(500.0);
    let by_hand = (2.0_f64 * 1.3 * 0.9 * 500.0 * 86_400.0 / (334_944.0 * 1600.0 * 0.08)).sqrt();
    let depth = hydraulics::cold::frost_depth(&site.job);
    assert!((depth.value.to_m() / by_hand - 1.0).abs() < 1e-9);
    assert_eq!(depth.basis, Basis::Computed);
    // Filled in, it stands and is not worked out anew.
    site.job = hydraulics::cold::with_frost_depth(&site.job).into_owned();
    assert_eq!(site.job.practice.cover.frost_depth, depth);
    let (result, ledger) = site.size();
    assert_eq!(result.cold.frost_depth, depth.value);
    let working = ledger.get("cold.frost_depth").unwrap();
    assert!(
        working
            .inputs
            .iter()
            .any(|i| i.name.contains("freezing index"))
    );
    site.job.practice.cover.frost_depth.value = Length::inch(42.0);
    let (result, ledger) = site.size();
    assert_eq!(result.cold.frost_depth, Length::inch(42.0));
    assert!(ledger.get("cold.frost_depth").unwrap().inputs.is_empty());
}
