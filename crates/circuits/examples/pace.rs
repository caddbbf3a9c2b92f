//! Prints how long a grouping takes and how far it may be from the least, for generated properties.
//!
//! `cargo run --release -p circuits --example pace`

#[path = "../tests/support/mod.rs"]
mod support;

use ground::Ground;
use std::time::Instant;
use working::Ledger;

fn main() {
    println!("heads seed manifolds circuits     cost    bound   gap  together  seconds  again");
    for heads in [12, 30, 100, 300, 1000] {
        for seed in 1..=3 {
            let job = support::stripped(heads, seed);
            let ground = Ground::new(&job);
            let begin = Instant::now();
            let mut ledger = Ledger::new();
            let found = support::with_costs(&job, |costs| {
                circuits::group(&job, &ground, costs, &mut ledger)
            });
            let took = begin.elapsed().as_secs_f64();
            let given = found
                .as_ref()
                .ok()
                .and_then(Option::as_ref)
                .map(|f| f.apply(&job));
            let begin = Instant::now();
            if let Some(given) = &given {
                support::with_costs(given, |costs| circuits::regrouping(given, &ground, costs));
            }
            let review = begin.elapsed().as_secs_f64();
            match found {
                Ok(Some(found)) => println!(
                    "{heads:5} {seed:4} {:9} {:8} {:8.0} {:8.0} {:4.1}% {:8.0}% {took:8.2} {review:7.2}",
                    job.system.manifolds.len(),
                    found.circuits.len(),
                    found.cost.total(),
                    found.bound,
                    found.gap() * 100.0,
                    found.together.to_percent(),
                ),
                other => println!("{heads:5} {seed:4} not grouped: {other:?}"),
            }
        }
    }
}
