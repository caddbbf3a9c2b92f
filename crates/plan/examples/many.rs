//! many
use std::ops::ControlFlow;
use std::time::Instant;
fn main() {
    let jobs: Vec<(String, String)> = std::env::args()
        .skip(1)
        .map(|w| {
            let text = match w.as_str() {
                "demo" => job::DEMO.to_owned(),
                "metric" => job::DEMO_METRIC.to_owned(),
                n => {
                    let (n, s) = n.split_once('-').unwrap();
                    job::sample(n.parse().unwrap(), s.parse().unwrap())
                }
            };
            (w, text)
        })
        .collect();
    for (name, text) in jobs {
        let job = job::read(&text, &job::ReadOptions::default()).unwrap().job;
        let t = Instant::now();
        let p = plan::plan(&job, &|_| ControlFlow::Continue(())).unwrap();
        let lay = p.network.cost - p.network.turning.cost;
        println!(
            "{name:8} {:6.2} s price {:>12} cost {:9.2} laying {lay:9.2} bound {:9.2} gap(laying) {:5.2} % rounds {} bends {} junctions {} more {}",
            t.elapsed().as_secs_f64(),
            p.total().to_string(),
            p.network.cost,
            p.network.bound,
            100.0 * (1.0 - p.network.bound / lay),
            p.rounds,
            p.network.turning.bends,
            p.network.turning.junctions,
            p.network.turning.more
        );
    }
}
