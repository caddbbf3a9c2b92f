//! The workings of the routes' figures.

use crate::totals;
use digging::Digging;
use job::Job;
use quantity::{Amount, Style};
use risk::Risk;
use routes::Network;
use working::{Ledger, Working};

/// Puts the figures of the routes into the ledger.
pub fn of_routes(job: &Job, network: &Network, ledger: &mut Ledger) {
    if ledger.is_closed() {
        return;
    }
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
         line × length) + test holes at crossings + bends and junctions",
        "cost model of the router",
    )
    .with(
        "digging, lines and test holes",
        Amount::new(network.laying(), Style::Money),
        "figure route.laying",
    )
    .with(
        "bends and junctions",
        Amount::new(network.turning.cost, Style::Money),
        "figure route.turning",
    )
    .with("candidate trenches", Amount::count(network.candidates), "route")
    .with("seed", job.seed.to_string(), "job file, member seed")
    .approximately(
        "one unit cost for each kind of ground; hire, sizes and sections are priced afterwards",
    );
    ledger.put("route.cost", cost);
    let laying = Working::new(
        "digging, lines and test holes, as the router sees them",
        Amount::new(network.laying(), Style::Money),
        "cost of the network − bends and junctions",
        "cost model of the router",
    );
    ledger.put("route.laying", laying);
    ledger.put("route.turning", turning(job, network));
    let bound = Working::new(
        "digging, lines and test holes of no network of the candidate graph cost less than this",
        Amount::new(network.bound, Style::Money),
        "dual ascent on directed cuts, all lines sharing the cost of digging; on small jobs the sharing by \
         the linear program of the cuts found",
        "R. T. Wong, Mathematical Programming 28 (1984), 271–287, for one tree; A. Chambolle and T. Pock, \
         Journal of Mathematical Imaging and Vision 40 (2011), for steps on the linear program (both from \
         memory); the sharing of one edge's cost among several trees is our own extension",
    )
    .approximately("a bound for the candidate graph, not for trenches that bend elsewhere");
    ledger.put("route.bound", bound);
    let whole = gap(
        "how far its digging and lines may be from the least costly of the candidate graph",
        network.gap(),
        (network.laying(), "figure route.laying"),
        network,
    );
    ledger.put("route.gap", whole);
    let proven = Working::new(
        "share of the cost of digging and lines that no other trenches of the candidate graph save",
        totals::proven(network),
        "bound / digging, lines and test holes, never rounded up",
        "arithmetic",
    )
    .with(
        "bound",
        Amount::new(network.bound, Style::Money),
        "figure route.bound",
    )
    .with(
        "digging, lines and test holes",
        Amount::new(network.laying(), Style::Money),
        "figure route.laying",
    )
    .approximately("of the candidate graph, not of trenches that bend elsewhere");
    ledger.put("route.proven", proven);
    let least = Working::new(
        "digging, lines and test holes of the least costly trees found, however they turn",
        Amount::new(network.least_laying, Style::Money),
        "the cheaper of this network and of the trees of the candidate graph that the search found before \
         they were tidied",
        "cost model of the router",
    )
    .with(
        "digging, lines and test holes of this network",
        Amount::new(network.laying(), Style::Money),
        "figure route.laying",
    )
    .with("candidate trenches", Amount::count(network.candidates), "route")
    .with("seed", job.seed.to_string(), "job file, member seed");
    ledger.put("route.least_laying", least);
    let search_gap = gap(
        "how far the least costly trees found may be from the least costly of the candidate graph",
        network.search_gap(),
        (network.least_laying, "figure route.least_laying"),
        network,
    );
    ledger.put("route.search_gap", search_gap);
    if let Some(refinement) = network.refinement {
        let gained = Working::new(
            "what the last step of refining the candidate graph gained",
            Amount::new(refinement, Style::Percent),
            "(cost before the step − cost after it) / cost after it",
            "route",
        )
        .with("candidate trenches", Amount::count(network.candidates), "route")
        .approximately(
            "says of what order trenches that bend or meet elsewhere could cost less; it is no bound of it",
        );
        ledger.put("route.refinement", gained);
    }
}

/// How far what is laid may be above the bound.
fn gap(what: &str, share: f64, (laying, figure): (f64, &str), network: &Network) -> Working {
    Working::new(
        what,
        Amount::new(share, Style::Percent),
        "(digging, lines and test holes − bound) / digging, lines and test holes",
        "arithmetic",
    )
    .with(
        "digging, lines and test holes",
        Amount::new(laying, Style::Money),
        figure,
    )
    .with(
        "bound",
        Amount::new(network.bound, Style::Money),
        "figure route.bound",
    )
}

/// What it costs that trenches turn and meet.
fn turning(job: &Job, network: &Network) -> Working {
    let turning = &network.turning;
    Working::new(
        "bends and junctions of the trenches",
        Amount::new(turning.cost, Style::Money),
        "(bends + further bends) × price of a bend + junctions × price of a junction; a further bend is a \
         trench beyond the third at a junction, or an angle sharper than there are fittings for",
        "cost model of the router",
    )
    .with("bends", Amount::count(turning.bends), "route")
    .with("further bends", Amount::count(turning.more), "route")
    .with("junctions", Amount::count(turning.junctions), "route")
    .with(
        "a bend",
        Amount::new(crate::costs::bend(job), Style::Money),
        "fitting elbow + labour hour × turn_trench, price file",
    )
    .with(
        "a junction",
        Amount::new(crate::costs::junction(job), Style::Money),
        "fitting tee + labour hour × branch_trench, price file",
    )
}

/// Puts the search for another set of machines into the ledger.
pub fn of_machines(tried: u32, passed_over: u32, digging: &Digging, ledger: &mut Ledger) {
    let count = |n: u32| Amount::count(n as usize);
    let mut working = Working::new(
        "single changes of the set of machines tried with routes of their own",
        count(tried),
        "one machine more or less, with trenches routed for that set, until none makes the price lower",
        "local search over sets of machines; on the same trenches every set is accounted for",
    )
    .with("passed over", count(passed_over), "too dear on the trenches that are there");
    for hire in &digging.hires {
        if let Some(without) = hire.without {
            let from = format!("figure hire.{}.without", hire.machine);
            let name = format!("dearer on these trenches without the {}", hire.label);
            working = working.with(name, without.amount(), from);
        }
    }
    for other in &digging.not_hired {
        let name = format!("dearer on these trenches with {}", other.machine);
        working = working.with(name, other.extra.amount(), "the choice of machines");
    }
    ledger.put("hire.changes", working);
}

/// How the contingency comes from the trials of the ground.
pub fn set_aside(job: &Job, risk: &Risk) -> Working {
    let by = &job.prices.contingency.by;
    Working::new("", "", "as the trials of the ground say", "stage risk")
        .with(
            "contingency",
            risk.contingency.amount(),
            "figure risk.contingency",
        )
        .with("it goes by", "risk", by.origin())
}
