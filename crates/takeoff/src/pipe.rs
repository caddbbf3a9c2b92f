//! Pipe: the pieces between fittings, and the sticks or coils they are cut from.

use crate::bill::{Bill, Entry, from_stretches, order_of, priced, short, slug};
use crate::cutting::{self, Cuts};
use crate::fittings::{self, Fitting, Kind, Limits};
use crate::tree::{Reach, Tree};
use crate::{Cutting, ItemGroup};
use job::practice::{PipeFamily, PipeMaterial, PipeSize};
use job::{Job, Sourced};
use quantity::{Amount, Length, Money, Style};
use routes::{NodeId, StretchId};
use std::collections::BTreeMap;

/// The unit in which pieces are cut, metres: a whole number of them keeps balances exact.
const MICROMETRE: f64 = 1e-6;

/// All pipe of one size of one family.
#[derive(Default)]
struct Lot {
    /// Between fittings, slack included.
    pieces: Vec<u64>,
    /// On plan.
    plan: Length,
    stretches: Vec<StretchId>,
}

/// Puts all pipe on the list; gives how it is cut and the couplings that this takes.
pub fn add(job: &Job, trees: &[Tree], bill: &mut Bill) -> (Vec<Cutting>, Vec<(Fitting, usize)>) {
    let mut cutting = Vec::new();
    let mut couplings = Vec::new();
    for ((family, rank), lot) in lots(job, trees) {
        let known = job.practice.pipe.get(&family);
        let Some((style, size)) = known.and_then(|f| Some((f, f.sizes.get(rank)?))) else {
            continue;
        };
        let cuts = cut(job, style, &lot);
        let coupling = Fitting {
            family: family.clone(),
            kind: Kind::Coupling,
            rank,
            to: rank,
        };
        couplings.push((coupling, cuts.joints));
        let id = format!("pipe.{family}.{}", slug(&size.name));
        if let Some(price) = price_of(job, &family, size) {
            bill.add(entry(
                job,
                &id,
                (style, size),
                &lot,
                &cuts,
                price,
                bill.units,
            ));
        }
        cutting.push(report(id, style.piece.value, &cuts));
    }
    couplings.retain(|(_, count)| *count > 0);
    (cutting, couplings)
}

fn price_of<'j>(job: &'j Job, family: &str, size: &PipeSize) -> Option<&'j Sourced<Money>> {
    job.prices.pipe.get(family)?.get(&size.name)
}

fn cut(job: &Job, family: &PipeFamily, lot: &Lot) -> Cuts {
    let kerf = whole(job.practice.takeoff.kerf.value.to_m());
    cutting::cut(&lot.pieces, whole(family.piece.value.to_m()), kerf)
}

fn whole(metres: f64) -> u64 {
    (metres / MICROMETRE).round() as u64
}

fn metres(whole: u64) -> Length {
    Length::m(whole as f64 * MICROMETRE)
}

fn report(item: String, piece: Length, cuts: &Cuts) -> Cutting {
    Cutting {
        item,
        piece,
        pieces: cuts
            .sticks
            .iter()
            .map(|stick| stick.iter().map(|p| metres(*p)).collect())
            .collect(),
        bound: cuts.bound,
        kerf: metres(cuts.kerf),
        waste: metres(cuts.waste),
    }
}

/// The pieces of all lines by family and size.
fn lots(job: &Job, trees: &[Tree]) -> BTreeMap<(String, usize), Lot> {
    let limits = Limits::of(job);
    let laid_per_plan = 1.0 + job.practice.cut.pipe_slack.value.to_one();
    let mut lots: BTreeMap<(String, usize), Lot> = BTreeMap::new();
    for tree in trees {
        for (reach, pieces) in pieces(tree, limits) {
            let lot = lots
                .entry((reach.pipe.family.clone(), reach.rank))
                .or_default();
            lot.plan += reach.length;
            lot.stretches.push(reach.pipe.stretch);
            let laid = pieces.iter().map(|plan| whole(plan * laid_per_plan));
            lot.pieces.extend(laid);
        }
    }
    lots
}

/// Every reach with the pieces that end in it, metres on plan.
fn pieces<'t, 'a>(tree: &'t Tree<'a>, limits: Limits) -> Vec<(&'t Reach<'a>, Vec<f64>)> {
    let mut begun: BTreeMap<NodeId, f64> = BTreeMap::new();
    let mut found = Vec::with_capacity(tree.reaches.len());
    for reach in &tree.reaches {
        let mut piece = begun.remove(&reach.pipe.from).unwrap_or(0.0);
        let mut ended = Vec::new();
        let mut at = 0.0;
        for (share, turn) in reach.turns() {
            if !limits.elbows(turn).is_empty() {
                ended.push(piece + (share - at) * reach.length.to_m());
                (piece, at) = (0.0, share);
            }
        }
        piece += (1.0 - at) * reach.length.to_m();
        if ends_a_piece(tree, reach.pipe.to, limits) {
            ended.push(piece);
        } else {
            begun.insert(reach.pipe.to, piece);
        }
        found.push((reach, ended));
    }
    found
}

/// Whether pipe is cut at a node: at a fitting, a component, and where the line ends.
fn ends_a_piece(tree: &Tree, node: NodeId, limits: Limits) -> bool {
    tree.line.terminals.contains(&node)
        || tree.out_of(node).next().is_none()
        || !fittings::at_node(tree, node, limits).is_empty()
}

fn entry(
    job: &Job,
    id: &str,
    (family, size): (&PipeFamily, &PipeSize),
    lot: &Lot,
    cuts: &Cuts,
    price: &Sourced<Money>,
    units: quantity::Units,
) -> Entry {
    let what = format!("{} {}", family.label, size.name);
    let slack = &job.practice.cut.pipe_slack;
    let kerf = &job.practice.takeoff.kerf;
    let sticks = cuts.sticks.len();
    let piece = &family.piece;
    let working = order_of(
        &what,
        "needed = plan length × (1 + slack); its pieces between fittings are cut from the fewest sticks or coils \
         found; order = sticks or coils begun; cost = order × length of one × price",
    )
    .with("plan length", lot.plan.amount(), from_stretches("length", &lot.stretches))
    .with("slack", Amount::new(slack.value.to_one(), Style::Percent), slack.origin())
    .with("pieces", Amount::count(lot.pieces.len()), "ends at fittings, components and size changes")
    .with("length of one", piece.value.amount(), piece.origin())
    .with("kerf of a cut", kerf.value.small(), kerf.origin())
    .with("lost to the saw", metres(cuts.kerf).amount(), "worked out here")
    .with("left over", metres(cuts.waste).amount(), "order × length of one − needed − lost to the saw")
    .with("fewest that can do", Amount::count(cuts.bound), "proved by the relaxation over all ways to cut one")
    .approximately(if cuts.bound == sticks {
        "offcuts are not joined to make a piece"
    } else {
        "not proved to be the fewest; offcuts are not joined to make a piece"
    });
    let sold = match family.material {
        PipeMaterial::Pvc | PipeMaterial::Copper | PipeMaterial::Steel => "sticks",
        PipeMaterial::Pe => "coils",
    };
    Entry {
        id: id.to_owned(),
        group: ItemGroup::Pipe,
        needed: metres(lot.pieces.iter().sum()).amount(),
        order: Amount::count(sticks),
        sold_as: format!("{} {sold}", short(piece.value, units)),
        unit: price.value,
        units: sticks as f64 * piece.value.to_m(),
        working: priced(working, price, Style::MoneyPerLength),
        what,
    }
}
