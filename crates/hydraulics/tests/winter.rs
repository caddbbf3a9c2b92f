//! Low points, volumes and low heads of small sites.

mod site;

use quantity::Length;
use routes::NodeId;
use site::Site;

#[test]
fn a_valley_and_a_low_end_want_a_drain_and_low_heads_run_empty() {
    let mut site = Site::new();
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
            std::f64::consts::FRAC_PI_4 * d * d * 10.0
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
