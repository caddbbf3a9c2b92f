//! The material list: lengths, fittings, boxes, wire, bedding, sod.
//!
//! Takes the network with its pipe sizes and its cuts and gives the order: how much the plan needs, how
//! it is sold, how many sticks or coils that makes, what it costs. Fittings come from the angles, sizes
//! and materials at every node and bend; flexible pipe is laid round a turn where it has the room. What
//! joints use up goes by the number of joints. Sticks, coils and spools are cut from the fewest, with
//! the proof.
//!
//! What always holds: for every kind of pipe, sticks or coils = pieces + kerf + waste; every end of pipe
//! is in one socket (`Takeoff::joints`); the id of an item is unique; an order is never below the need;
//! the cost of an item is its order times its price, rounded once to the cent.
//!
//! # Words
//! - *piece*: pipe in one length between two fittings.
//! - *offcut*, *waste*: what is left of a stick or coil when its pieces are cut.
//!
//! Does no I/O and chooses no size.

mod bends;
mod bill;
mod components;
mod counters;
pub mod cutting;
mod fittings;
mod ground;
mod joining;
mod marking;
mod nodes;
mod offcuts;
mod pipe;
mod results;
mod sleeves;
mod spools;
mod tree;
mod wire;

pub use bends::{Rule, least_bend};
pub use results::*;
pub use sleeves::bundle;

use bill::{Bill, Care};
use digging::Digging;
use hydraulics::Hydraulics;
use job::Job;
use nodes::Fitted;
use routes::Network;
use tree::Tree;
use working::Ledger;

/// How the ids of the items begin that make surfaces good; their price is restoration, not material.
pub const SURFACE_ITEMS: &str = "ground.restore.";

/// Makes the material list of a plan and puts the working of every item into the ledger.
pub fn take_off(
    job: &Job,
    network: &Network,
    water: &Hydraulics,
    digging: &Digging,
    ledger: &mut Ledger,
) -> Takeoff {
    taken_off(job, (network, water, digging), Care::Searched, ledger)
}

/// The same with wire cut from spools without a search: their bound is that of the lengths alone, and
/// more may be ordered.
pub fn take_off_quickly(
    job: &Job,
    network: &Network,
    water: &Hydraulics,
    digging: &Digging,
    ledger: &mut Ledger,
) -> Takeoff {
    taken_off(job, (network, water, digging), Care::Simple, ledger)
}

fn taken_off(
    job: &Job,
    (network, water, digging): (&Network, &Hydraulics, &Digging),
    care: Care,
    ledger: &mut Ledger,
) -> Takeoff {
    let trees: Vec<Tree> = (0..network.lines.len())
        .filter(|&line| network.lines[line].kind.is_pipe())
        .map(|line| Tree::new(job, network, water, line))
        .collect();
    let mut bill = Bill::new(job.units, care, ledger);
    let fitted: Vec<Fitted> = trees
        .iter()
        .map(|tree| Fitted::new(job, digging, tree))
        .collect();
    let mut lots = pipe::lots(job, &fitted);
    let sleeved = sleeves::find(job, network, digging, &bill, &mut lots);
    offcuts::for_sleeves(job, &mut lots, &mut bill);
    let mut counts = pipe::count(&fitted);
    let (cutting, joints) = pipe::add(job, &lots, &mut counts, &mut bill);
    fittings::add(job, &counts, &mut bill);
    joining::add(job, &counts, &mut bill);
    components::add(job, &mut bill);
    let mut spools = wire::add_valve_wire(job, network, water, &mut bill);
    wire::add_cable(job, network, &mut bill);
    spools.extend(marking::add_tracer(job, network, digging, &mut bill));
    sleeves::add(job, &sleeved, &mut bill);
    ground::add(job, network, digging, &mut bill);
    marking::add(job, network, digging, &mut bill);
    let bends = counters::bends(job, &fitted, &mut bill);
    let items = bill.finish();
    let counters = counters::sum(&items, ledger);
    Takeoff {
        items,
        cutting,
        spools,
        counters,
        joints,
        bends,
        splices: wire::splices(job, network),
    }
}
