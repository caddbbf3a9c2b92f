//! Jobs without circuits, and what things cost in tests.

use circuits::GroupCosts;
use ground::StretchGround;
use job::{Job, Manifold, ReadOptions};

/// A generated property of which circuits and valves are taken out; its valves' places are left as
/// places for manifolds.
pub fn stripped(heads: u32, seed: u64) -> Job {
    let text = job::sample(heads, seed);
    let mut job = job::read(&text, &ReadOptions::default())
        .expect("samples read")
        .job;
    strip(&mut job);
    job
}

/// Takes circuits and valves out of a job.
pub fn strip(job: &mut Job) {
    let system = &mut job.system;
    for valve in system.valves.drain(..) {
        let id = valve.manifold.unwrap_or(valve.id);
        if system.manifolds.iter().all(|m| m.id != id) {
            system.manifolds.push(Manifold { id, at: valve.at });
        }
    }
    system.circuits.clear();
    system.outlets.iter_mut().for_each(|o| o.circuit.clear());
}

/// Runs something with the prices of a job and an invented price of trench.
pub fn with_costs<T>(job: &Job, run: impl FnOnce(&GroupCosts) -> T) -> T {
    let trench = |ground: &StretchGround| {
        let by_hand = if ground.zones.is_empty() { 1.0 } else { 2.5 };
        if ground.surface.is_paved() {
            80.0
        } else {
            12.0 * by_hand
        }
    };
    let pipe = |family: &str, size: &str| {
        let price = job.prices.pipe.get(family).and_then(|f| f.get(size));
        price.map_or(0.0, |p| p.value.to_units() + 1.5)
    };
    run(&GroupCosts {
        trench: &trench,
        pipe: &pipe,
        crossing: 60.0,
        valve: 95.0,
        valve_box: 38.0,
        wire: 0.9,
        conductor: 0.25,
    })
}
