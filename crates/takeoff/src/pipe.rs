//! Pipe: the pieces between fittings, and the sticks or coils they are cut from.

use crate::bill::{Allowance, Bill, Entry, begun, from_stretches, order_of, priced, short, slug};
use crate::cutting::{self, Cuts};
use crate::fittings::{Counts, Fitting, Kind, percent};
use crate::nodes::Fitted;
use crate::{Cutting, ItemGroup, Joints};
use job::practice::{PipeFamily, PipeMaterial, PipeSize};
use job::{Job, Sourced};
use quantity::{Amount, Length, Money, Style};
use routes::{NodeId, StretchId};
use std::collections::BTreeMap;

/// The unit in which pieces are cut, metres: a whole number of them keeps balances exact.
const MICROMETRE: f64 = 1e-6;

/// A family and the place of a size in it.
pub type Kindred = (String, usize);

/// A piece of pipe in one length, with where it goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    pub length: u64,
    pub place: String,
}

/// All pipe of one size of one family.
#[derive(Debug, Clone, Default)]
pub struct Lot {
    /// Between fittings, slack included.
    pub pieces: Vec<Cut>,
    /// Between fittings at one place; no slack.
    pub short: usize,
    /// For sleeves.
    pub sleeves: Vec<Cut>,
    /// On plan.
    plan: Length,
    stretches: Vec<StretchId>,
}

pub type Lots = BTreeMap<Kindred, Lot>;

impl Lot {
    /// Whether nothing is cut for it.
    pub fn is_empty(&self) -> bool {
        self.pieces.is_empty() && self.sleeves.is_empty() && self.short == 0
    }

    fn lengths(&self, job: &Job) -> Vec<u64> {
        let short = whole(job.practice.takeoff.short_piece.value.to_m());
        let long = self
            .pieces
            .iter()
            .chain(&self.sleeves)
            .map(|cut| cut.length);
        long.chain(std::iter::repeat_n(short, self.short)).collect()
    }

    /// How it is cut; nothing where the practice does not know it.
    pub fn cut(&self, job: &Job, family: &PipeFamily) -> Cuts {
        let kerf = whole(job.practice.takeoff.kerf.value.to_m());
        let piece = whole(family.piece.value.to_m());
        cutting::cut(&self.lengths(job), piece, kerf)
    }

    /// Where each piece goes, in the order of a cutting.
    fn places(&self, job: &Job, cuts: &Cuts, stick: u64) -> Vec<Vec<String>> {
        let mut by_length: BTreeMap<u64, Vec<String>> = BTreeMap::new();
        let mut put = |length: u64, place: String| by_length.entry(length).or_default().push(place);
        for cut in self.pieces.iter().chain(&self.sleeves) {
            let wholes = (cut.length.max(1) - 1).checked_div(stick).unwrap_or(0);
            let of = wholes + 1;
            let part = |n: u64| match of {
                1 => cut.place.clone(),
                _ => format!("{}, part {n} of {of}", cut.place),
            };
            (1..=wholes).for_each(|n| put(stick, part(n)));
            put(cut.length - wholes * stick, part(of));
        }
        let short = whole(job.practice.takeoff.short_piece.value.to_m());
        (0..self.short).for_each(|_| put(short, "between fittings".to_owned()));
        for places in by_length.values_mut() {
            // Taken from the end, so that they come in the order of the lines.
            places.reverse();
        }
        let mut take = |length: &u64| {
            let left = by_length.get_mut(length).and_then(Vec::pop);
            left.unwrap_or_default()
        };
        let sticks = cuts.sticks.iter();
        sticks
            .map(|stick| stick.iter().map(&mut take).collect())
            .collect()
    }
}

/// The pieces of all lines by family and size, the short ones between fittings included.
pub fn lots(job: &Job, fitted: &[Fitted]) -> Lots {
    let laid_per_plan = 1.0 + job.practice.cut.pipe_slack.value.to_one();
    let least = whole(job.practice.takeoff.short_piece.value.to_m());
    let mut lots = Lots::new();
    for line in fitted {
        let name = &line.tree.line.name;
        for (number, pieces) in pieces(line) {
            let reach = &line.tree.reaches[number];
            let kindred = (reach.pipe.family.clone(), reach.rank);
            let lot = lots.entry(kindred).or_default();
            lot.plan += reach.length;
            lot.stretches.push(reach.pipe.stretch);
            lot.pieces.extend(pieces.iter().map(|plan| Cut {
                // Fittings that touch still want pipe between them.
                length: match whole(plan * laid_per_plan) {
                    0 => least,
                    some => some,
                },
                place: format!("{name}, {}", reach.pipe.stretch),
            }));
        }
        for place in groups(line) {
            let Some(first) = place.first() else { continue };
            let kindred = (first.family.clone(), first.rank);
            lots.entry(kindred).or_default().short += place.len() - 1;
        }
    }
    lots
}

/// Fittings that sit together at a node or a bend.
fn groups(line: &Fitted) -> Vec<Vec<Fitting>> {
    let at_nodes = line.tree.nodes().map(|node| line.at(node).to_vec());
    let numbers = 0..line.tree.reaches.len();
    let at_bends = numbers.flat_map(|number| line.along(number).into_iter().map(|(_, f)| f));
    at_nodes.chain(at_bends).collect()
}

/// Every fitting at nodes and bends.
pub fn count(fitted: &[Fitted]) -> Counts {
    let mut counts = Counts::new();
    for fitting in fitted.iter().flat_map(groups).flatten() {
        *counts.entry(fitting).or_default() += 1;
    }
    counts
}

/// Every reach by number with the pieces that end in it, metres on plan.
fn pieces(line: &Fitted) -> Vec<(usize, Vec<f64>)> {
    let tree = line.tree;
    let mut begun: BTreeMap<NodeId, f64> = BTreeMap::new();
    let mut found = Vec::with_capacity(tree.reaches.len());
    for (number, reach) in tree.reaches.iter().enumerate() {
        let mut piece = begun.remove(&reach.pipe.from).unwrap_or(0.0);
        let mut ended = Vec::new();
        let mut at = 0.0;
        for (share, _) in line.along(number) {
            ended.push(piece + (share - at) * reach.length.to_m());
            (piece, at) = (0.0, share);
        }
        piece += (1.0 - at) * reach.length.to_m();
        if line.at(reach.pipe.to).is_empty() {
            begun.insert(reach.pipe.to, piece);
        } else {
            ended.push(piece);
        }
        found.push((number, ended));
    }
    found
}

/// Puts all pipe on the list; gives how it is cut and its joints, and counts the couplings that this
/// takes.
pub fn add(
    job: &Job,
    lots: &Lots,
    counts: &mut Counts,
    bill: &mut Bill,
) -> (Vec<Cutting>, Vec<Joints>) {
    let (mut cutting, mut joints) = (Vec::new(), Vec::new());
    for ((family, rank), lot) in lots {
        let Some((style, size)) = known(job, family, *rank) else {
            continue;
        };
        let mut cuts = lot.cut(job, style);
        if cuts.joints > 0 {
            let coupling = Fitting {
                family: family.clone(),
                kind: Kind::Coupling,
                rank: *rank,
                to: *rank,
            };
            *counts.entry(coupling).or_default() += cuts.joints;
        }
        joints.push(Joints {
            family: family.clone(),
            size: size.name.clone(),
            joint: style.joined_by().key().to_owned(),
            pieces: cuts.sticks.iter().map(Vec::len).sum(),
            sockets: 0,
            open: 2 * lot.sleeves.len(),
        });
        let stick = whole(style.piece.value.to_m());
        let mut places = lot.places(job, &cuts, stick);
        let spare = add_spare(job, stick, &mut cuts);
        places.resize(cuts.sticks.len(), Vec::new());
        let id = format!("pipe.{family}.{}", slug(&size.name));
        if let Some(price) = price_of(job, family, size) {
            let units = bill.units;
            let entry = entry(job, &id, (style, size), lot, (&cuts, spare), price, units);
            bill.add(entry);
        }
        cutting.push(report(id, style.piece.value, &cuts, places));
    }
    let sockets = crate::fittings::sockets(counts);
    for joints in &mut joints {
        let rank = rank_of(job, joints);
        joints.sockets = sockets.get(&rank).copied().unwrap_or(0);
    }
    (cutting, joints)
}

fn rank_of(job: &Job, joints: &Joints) -> Kindred {
    let family = job.practice.pipe.get(&joints.family);
    let rank = family.and_then(|f| f.sizes.iter().position(|s| s.name == joints.size));
    (joints.family.clone(), rank.unwrap_or(0))
}

pub fn known<'j>(
    job: &'j Job,
    family: &str,
    rank: usize,
) -> Option<(&'j PipeFamily, &'j PipeSize)> {
    let known = job.practice.pipe.get(family)?;
    Some((known, known.sizes.get(rank)?))
}

/// What a metre costs.
pub fn price_of<'j>(job: &'j Job, family: &str, size: &PipeSize) -> Option<&'j Sourced<Money>> {
    job.prices.pipe.get(family)?.get(&size.name)
}

/// Sticks for what is spoiled, where what is left over does not do for it; gives how many.
fn add_spare(job: &Job, stick: u64, cuts: &mut Cuts) -> usize {
    let share = Allowance(&job.practice.takeoff.waste.pipe);
    let net: u64 = cuts.sticks.iter().flatten().sum();
    let wanted = begun(share.on(net as f64), stick as f64);
    let spare = wanted.saturating_sub(cuts.sticks.len());
    if stick == 0 || spare == 0 {
        return 0;
    }
    cuts.sticks.resize(wanted, Vec::new());
    cuts.bound = cuts.bound.max(wanted);
    cuts.waste += spare as u64 * stick;
    spare
}

pub fn whole(metres: f64) -> u64 {
    (metres / MICROMETRE).round() as u64
}

pub fn metres(whole: u64) -> Length {
    Length::m(whole as f64 * MICROMETRE)
}

fn report(item: String, piece: Length, cuts: &Cuts, places: Vec<Vec<String>>) -> Cutting {
    let sticks = cuts.sticks.iter();
    Cutting {
        item,
        piece,
        pieces: sticks
            .map(|stick| stick.iter().map(|p| metres(*p)).collect())
            .collect(),
        places,
        bound: cuts.bound,
        kerf: metres(cuts.kerf),
        waste: metres(cuts.waste),
    }
}

fn entry(
    job: &Job,
    id: &str,
    (family, size): (&PipeFamily, &PipeSize),
    lot: &Lot,
    (cuts, spare): (&Cuts, usize),
    price: &Sourced<Money>,
    units: quantity::Units,
) -> Entry {
    let what = format!("{} {}", family.label, size.name);
    let sticks = cuts.sticks.len();
    let piece = &family.piece;
    let net = metres(cuts.sticks.iter().flatten().sum());
    let share = Allowance(&job.practice.takeoff.waste.pipe);
    let sold = match family.material {
        PipeMaterial::Pvc | PipeMaterial::Copper | PipeMaterial::Steel => "sticks",
        PipeMaterial::Pe => "coils",
    };
    let working = working(job, &what, lot, piece, (cuts, spare));
    Entry {
        id: id.to_owned(),
        group: ItemGroup::Pipe,
        net: net.amount(),
        needed: Length::m(share.on(net.to_m())).amount(),
        ordered: sticks as f64 * piece.value.to_m(),
        order: Amount::count(sticks),
        sold_as: format!("{} {sold}", short(piece.value, units)),
        unit: price.value,
        units: sticks as f64 * piece.value.to_m(),
        working: priced(share.with(working), price, Style::MoneyPerLength),
        what,
    }
}

fn working(
    job: &Job,
    what: &str,
    lot: &Lot,
    piece: &Sourced<Length>,
    (cuts, spare): (&Cuts, usize),
) -> working::Working {
    let rules = &job.practice.takeoff;
    let (slack, kerf, short) = (
        &job.practice.cut.pipe_slack,
        &rules.kerf,
        &rules.short_piece,
    );
    let sleeves: u64 = lot.sleeves.iter().map(|cut| cut.length).sum();
    let proven = cuts.bound == cuts.sticks.len();
    order_of(
        what,
        "goes in = plan length × (1 + slack) + short pieces + sleeves; its pieces between fittings are cut \
         from the fewest sticks or coils found, offcuts serving every line and sleeve of the size; spare \
         sticks or coils where what is left over is less than goes in × waste; cost = order × length of \
         one × price",
    )
    .with(
        "plan length",
        lot.plan.amount(),
        from_stretches("length", &lot.stretches),
    )
    .with("slack", percent(slack), slack.origin())
    .with(
        "pieces",
        Amount::count(lot.pieces.len()),
        "ends at fittings, components and size changes",
    )
    .with(
        "short pieces",
        Amount::count(lot.short),
        "one fewer than fittings at each place",
    )
    .with("length of a short piece", short.value.small(), short.origin())
    .with("sleeves", metres(sleeves).amount(), "sleeves cut from this pipe")
    .with("length of one", piece.value.amount(), piece.origin())
    .with("kerf of a cut", kerf.value.small(), kerf.origin())
    .with("lost to the saw", metres(cuts.kerf).amount(), "worked out here")
    .with(
        "left over",
        metres(cuts.waste).amount(),
        "order × length of one − goes in − lost to the saw",
    )
    .with("spare", Amount::count(spare), "sticks or coils of the order")
    .with(
        "fewest that can do",
        Amount::count(cuts.bound),
        "proved by the relaxation over all ways to cut one",
    )
    .approximately(match proven {
        true => "offcuts are not joined to make a piece; pieces are as long as the planned line",
        false => {
            "not proved to be the fewest; offcuts are not joined to make a piece; pieces are as long as \
             the planned line"
        }
    })
}
