//! The material list: lengths, fittings, boxes, wire, bedding, sod.
//!
//! Takes the network with its pipe sizes and its cuts and gives the order: how much the plan needs, how
//! it is sold, how many sticks or coils that makes, what it costs. Fittings come from the angles and
//! sizes at every node and bend; sticks and coils are cut from the fewest, with the proof.
//!
//! What always holds: for every kind of pipe, sticks or coils = pieces + kerf + waste; the id of an item
//! is unique; the cost of an item is its order times its price, rounded once to the cent.
//!
//! # Words
//! - *piece*: pipe in one length between two fittings.
//! - *offcut*, *waste*: what is left of a stick or coil when its pieces are cut.
//!
//! Does no I/O and chooses no size.

mod bill;
mod components;
pub mod cutting;
mod fittings;
mod ground;
mod pipe;
mod results;
mod sleeves;
mod tree;
mod wire;

pub use results::*;
pub use sleeves::bundle;

use bill::Bill;
use digging::Digging;
use hydraulics::Hydraulics;
use job::Job;
use quantity::Money;
use routes::{LineKind, Network};
use tree::Tree;
use working::{Ledger, Working};

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
    let trees: Vec<Tree> = (0..network.lines.len())
        .filter(|&line| network.lines[line].kind.is_pipe())
        .map(|line| Tree::new(job, network, water, line))
        .collect();
    let mut bill = Bill::new(job.units, ledger);
    let (cutting, couplings) = pipe::add(job, &trees, &mut bill);
    fittings::add(job, &trees, couplings, &mut bill);
    components::add(job, &mut bill);
    wire::add_valve_wire(job, network, water, &mut bill);
    wire::add_cable(job, network, &mut bill);
    wire::add_tape(job, network, digging, &mut bill);
    wire::add_tracer(job, network, digging, &mut bill);
    sleeves::add(job, network, digging, &mut bill);
    ground::add(job, network, digging, &mut bill);
    let items = bill.finish();
    put_total(&items, ledger);
    Takeoff { items, cutting }
}

fn put_total(items: &[Item], ledger: &mut Ledger) {
    let total: Money = items.iter().map(|item| item.cost).sum();
    let working = items.iter().fold(
        Working::new(
            "Material",
            total.amount(),
            "sum of the items' costs",
            "arithmetic",
        ),
        |working, item| {
            working.with(
                item.what.clone(),
                item.cost.amount(),
                format!("figure material.{}", item.id),
            )
        },
    );
    ledger.put("material.total", working);
}

/// Whether a line is fed from the source without a valve between.
fn always_under_pressure(kind: &LineKind) -> bool {
    matches!(kind, LineKind::Service | LineKind::Main)
}
