//! Runs of wire are cut from spools of several lengths, so that the spools are the shortest that do.

use crate::bill::{Allowance, Bill, Care, Entry, begun, order_of, priced, short};
use crate::pipe::{metres, whole};
use crate::{ItemGroup, Spool, Spooling};
use ::cutting::{Limits, Problem, Stock, solve};
use job::Sourced;
use job::prices::Widths;
use quantity::{Amount, Length, Money, Style};
use std::collections::BTreeMap;
use std::ops::ControlFlow;
use working::Working;

/// Wire in one length.
pub struct Piece {
    pub length: Length,
    pub place: String,
}

/// Wire of one kind.
pub struct Wanted<'j> {
    pub id: String,
    pub what: String,
    pub pieces: Vec<Piece>,
    pub lengths: &'j Sourced<Widths>,
    pub waste: Allowance<'j>,
    /// Of a metre.
    pub price: &'j Sourced<Money>,
    pub working: Working,
}

/// How long the shortest spools are looked for.
const LIMITS: Limits = Limits {
    work: 3_000_000,
    seed: 1,
};

/// Puts wire on the list; gives how it is cut, and how many joins pieces longer than a spool take.
pub fn add(bill: &mut Bill, wanted: Wanted) -> Option<(Spooling, usize)> {
    let spools: Vec<u64> = wanted
        .lengths
        .value
        .0
        .iter()
        .map(|l| whole(l.to_m()))
        .collect();
    let longest = spools.iter().copied().max().filter(|length| *length > 0)?;
    let (parts, joins) = parts(&wanted.pieces, longest);
    if parts.is_empty() {
        return None;
    }
    let (mut cut, bound) = shortest(&parts, &spools, longest, bill.care);
    let net: Length = wanted.pieces.iter().map(|piece| piece.length).sum();
    let needed = Length::m(wanted.waste.on(net.to_m()));
    let spare = spools.iter().copied().filter(|length| *length > 0).min()?;
    let ordered = |cut: &[(u64, Vec<u64>)]| metres(cut.iter().map(|(length, _)| length).sum());
    let lacking = (needed - ordered(&cut)).to_m();
    let more = begun(lacking, metres(spare).to_m());
    cut.extend((0..more).map(|_| (spare, Vec::new())));
    let ordered = ordered(&cut);
    let bound = metres(bound).max(needed.min(ordered));
    let (sold_as, units) = (sold_as(&cut, bill), ordered.to_m());
    let working = wanted
        .waste
        .with(wanted.working)
        .with("pieces", Amount::count(parts.len()), "each from one spool")
        .with("spools", Amount::count(cut.len()), wanted.lengths.origin())
        .with("their length", ordered.amount(), sold_as.clone())
        .with(
            "shortest that can do",
            bound.amount(),
            "proved by the relaxation over all ways to cut one",
        );
    bill.add(Entry {
        id: wanted.id.clone(),
        group: ItemGroup::Wire,
        what: wanted.what,
        net: net.amount(),
        needed: needed.amount(),
        ordered: units,
        order: Amount::count(cut.len()),
        sold_as,
        unit: wanted.price.value,
        units,
        working: priced(working, wanted.price, Style::MoneyPerLength),
    });
    Some((
        Spooling {
            item: wanted.id,
            spools: placed(&cut, parts),
            bound,
        },
        joins,
    ))
}

/// The pieces in parts that fit a spool, and how many joins that takes.
fn parts(pieces: &[Piece], longest: u64) -> (Vec<(u64, String)>, usize) {
    let mut parts = Vec::with_capacity(pieces.len());
    let mut joins = 0;
    for piece in pieces {
        let length = whole(piece.length.to_m());
        if length == 0 {
            continue;
        }
        let wholes = (length - 1) / longest;
        joins += wholes as usize;
        parts.extend((0..wholes).map(|_| (longest, piece.place.clone())));
        parts.push((length - wholes * longest, piece.place.clone()));
    }
    (parts, joins)
}

/// Spools with what is cut from each, and the least length that any spools for it have.
fn shortest(
    parts: &[(u64, String)],
    spools: &[u64],
    longest: u64,
    care: Care,
) -> (Vec<(u64, Vec<u64>)>, u64) {
    let work = match care {
        Care::Simple => 0,
        Care::Searched => LIMITS.work,
    };
    let limits = Limits { work, ..LIMITS };
    let pieces = parts.iter().map(|(length, _)| ::cutting::Piece {
        length: *length,
        count: 1,
    });
    let lengths = spools.iter().filter(|length| **length > 0);
    let stocks: Vec<Stock> = lengths.map(|length| Stock::new(*length, *length)).collect();
    let problem = Problem::new(pieces.collect(), stocks, 0).ok();
    let solved = problem.and_then(|problem| {
        let found = solve(&problem, limits, &|_| ControlFlow::Continue(())).ok()?;
        let mut cut = Vec::new();
        for made in &found.cuts {
            let stock = problem.stocks().get(made.stock)?.length;
            let list = made
                .pieces
                .iter()
                .flat_map(|(piece, count)| std::iter::repeat_n(parts[*piece].0, *count as usize));
            let mut list: Vec<u64> = list.collect();
            list.sort_unstable_by(|a, b| b.cmp(a));
            cut.extend(std::iter::repeat_n((stock, list), made.times as usize));
        }
        cut.sort_unstable_by(|a, b| b.cmp(a));
        Some((cut, found.bound))
    });
    // More than can be searched: each piece from a spool of its own.
    solved.unwrap_or_else(|| {
        let cut = parts.iter().map(|(length, _)| (longest, vec![*length]));
        (cut.collect(), parts.iter().map(|(length, _)| length).sum())
    })
}

fn placed(cut: &[(u64, Vec<u64>)], parts: Vec<(u64, String)>) -> Vec<Spool> {
    let mut by_length: BTreeMap<u64, Vec<String>> = BTreeMap::new();
    for (length, place) in parts.into_iter().rev() {
        by_length.entry(length).or_default().push(place);
    }
    let spool = |(length, pieces): &(u64, Vec<u64>)| Spool {
        length: metres(*length),
        pieces: pieces.iter().map(|piece| metres(*piece)).collect(),
        places: pieces
            .iter()
            .map(|piece| {
                by_length
                    .get_mut(piece)
                    .and_then(Vec::pop)
                    .unwrap_or_default()
            })
            .collect(),
    };
    cut.iter().map(spool).collect()
}

/// Such as `spools: 2 of 250 ft, 1 of 100 ft`.
fn sold_as(cut: &[(u64, Vec<u64>)], bill: &Bill) -> String {
    let mut counts: BTreeMap<u64, usize> = BTreeMap::new();
    for (length, _) in cut {
        *counts.entry(*length).or_default() += 1;
    }
    let each = counts
        .iter()
        .rev()
        .map(|(length, count)| format!("{count} of {}", short(metres(*length), bill.units)));
    format!("spools: {}", each.collect::<Vec<_>>().join(", "))
}

/// The working of wire, its value still to be filled in.
pub fn order_of_wire(what: &str, formula: &str) -> Working {
    order_of(
        what,
        format!(
            "{formula}; pieces are cut from the shortest spools found; cost = their length × price"
        ),
    )
}
