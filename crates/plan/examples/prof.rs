//! prof
use std::ops::ControlFlow;
use std::time::Instant;
fn main() {
    let which = std::env::args().nth(1).unwrap();
    let text = match which.as_str() {
        "demo" => job::DEMO.to_owned(),
        "metric" => job::DEMO_METRIC.to_owned(),
        n => job::sample(n.parse().unwrap(), 1),
    };
    let job = job::read(&text, &job::ReadOptions::default()).unwrap().job;
    let run = |f: &dyn Fn(&dyn Fn(&str) -> ControlFlow<()>) -> plan::Plan| {
        let t = Instant::now();
        let last = std::cell::Cell::new(Instant::now());
        let p = f(&|w| {
            if !w.is_empty() {
                eprintln!("  +{:?}  {w}", last.get().elapsed());
                last.set(Instant::now());
            }
            ControlFlow::Continue(())
        });
        let trench: f64 = p.network.stretches.iter().map(|s| s.length.to_m()).sum();
        eprintln!(
            "  +{:?}\n total {:?} cost {:.2} bound {:.2} gap {:.2} % trench {trench:.1} m price {} turning {:?}",
            last.get().elapsed(),
            t.elapsed(),
            p.network.cost,
            p.network.bound,
            100.0 * p.network.gap(),
            p.total(),
            p.network.turning
        );
        p
    };
    let p = run(&|r| plan::plan(&job, r).unwrap());
    let mut moved = job.clone();
    let h = moved.system.outlets.len() / 2;
    moved.system.outlets[h].at.x += 0.8;
    eprintln!("again");
    let a = run(&|r| plan::replan(&moved, &p, r).unwrap());
    eprintln!("from nothing");
    let b = run(&|r| plan::plan(&moved, r).unwrap());
    eprintln!(
        "network {:.3} %",
        100.0 * (a.network.cost / b.network.cost - 1.0)
    );
}
