use std::ops::ControlFlow;
use std::time::Instant;
fn main() {
    let which = std::env::args().nth(1).unwrap();
    let text = match which.as_str() {
        "demo" => job::DEMO.to_owned(),
        n => job::sample(n.parse().unwrap(), 1),
    };
    let job = job::read(&text, &job::ReadOptions::default()).unwrap().job;
    let t = Instant::now();
    let ground = ground::Ground::new(&job);
    eprintln!("ground {:?}", t.elapsed());
    let t = Instant::now();
    let _router = routes::Router::new(&job, &ground);
    eprintln!("router {:?}", t.elapsed());
    let last = std::cell::Cell::new(Instant::now());
    let p = plan::plan(&job, &|w| {
        if !w.is_empty() {
            eprintln!("  +{:?}  {w}", last.get().elapsed());
            last.set(Instant::now());
        }
        ControlFlow::Continue(())
    })
    .unwrap();
    eprintln!(
        "  +{:?} total {:?} cost {} bound {} stretches {} lines {} trench {}",
        last.get().elapsed(),
        t.elapsed(),
        p.network.cost,
        p.network.bound,
        p.network.stretches.len(),
        p.network.lines.len(),
        p.total()
    );
}
