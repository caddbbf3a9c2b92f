//! The workings of the routes' figures.

use job::Job;
use quantity::{Amount, Style};
use routes::Network;
use working::{Ledger, Working};

/// Puts the figures of the routes into the ledger.
pub fn of_routes(job: &Job, network: &Network, ledger: &mut Ledger) {
    for (id, stretch) in network.iter() {
        let working = Working::new(
            format!("length of stretch {id}"),
            stretch.length.amount(),
            "sum of the straight parts of its centre line, in plan",
            "arithmetic",
        )
        .with(
            "straight parts",
            Amount::count(stretch.path.len().saturating_sub(1)),
            "route",
        )
        .approximately("in plan, not along the slope");
        ledger.put(format!("stretch.{id}.length"), working);
    }
    let length = Working::new(
        "length of all trench",
        network.length().amount(),
        "sum over all stretches, each counted once whatever lies in it",
        "arithmetic",
    );
    let length = length.with("stretches", Amount::count(network.stretches.len()), "route");
    ledger.put("route.length", length);
    let cost = Working::new(
        "cost of the network as the router sees it",
        Amount::new(network.cost, Style::Money),
        "sum over trenches of (unit cost of their ground × length, once) + sum over lines of (rate of the \
         line × length) + test holes at crossings",
        "cost model of the router",
    )
    .with("candidate trenches", Amount::count(network.candidates), "route")
    .with("seed", job.seed.to_string(), "job file, member seed")
    .approximately(
        "one unit cost for each kind of ground; hire, sizes and sections are priced afterwards",
    );
    ledger.put("route.cost", cost);
    let bound = Working::new(
        "no network of the candidate graph costs less than this",
        Amount::new(network.bound, Style::Money),
        "dual ascent on directed cuts, all lines sharing the cost of digging",
        "R. T. Wong, Mathematical Programming 28 (1984), 271–287, for one tree (from memory); the sharing \
         of one edge's cost among several trees is our own extension",
    )
    .approximately("a bound for the candidate graph, not for trenches that bend elsewhere");
    ledger.put("route.bound", bound);
    let gap = Working::new(
        "how far the network may be from the least costly of the candidate graph",
        Amount::new(network.gap(), Style::Percent),
        "(cost − bound) / cost",
        "arithmetic",
    )
    .with(
        "cost",
        Amount::new(network.cost, Style::Money),
        "figure route.cost",
    )
    .with(
        "bound",
        Amount::new(network.bound, Style::Money),
        "figure route.bound",
    );
    ledger.put("route.gap", gap);
}
