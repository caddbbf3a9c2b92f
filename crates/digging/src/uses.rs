//! What each method of the price book does on a job, and why it does no more.

use crate::offers::{Book, Site};
use crate::{Dig, NotHired};
use job::MethodId;
use quantity::{Duration, Length, Money};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What a method does on a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MethodUse {
    /// The method.
    pub method: MethodId,
    /// In words.
    pub label: String,
    /// Length that it puts in.
    pub puts_in: Length,
    /// Stretches that it puts in.
    pub stretches: usize,
    /// Its time there.
    pub hours: Duration,
    /// What these stretches cost, hire left out.
    pub cost: Money,
    /// Length that it could put in.
    pub could: Length,
    /// How much dearer these trenches would be with its machine hired; `None` if it is hired, needs no
    /// hire or could do nothing.
    pub extra: Option<Money>,
    /// What keeps it from the most length, in the words of the stretch with the most of it.
    pub kept_from: Option<KeptFrom>,
}

/// Why a method cannot put in some stretches.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct KeptFrom {
    /// The reason that keeps it from the most length, without what is particular to a stretch. Where
    /// a stretch has several reasons, the first.
    pub why: String,
    /// Length of the stretches with this reason.
    pub length: Length,
}

/// What every method of the price book does, in its order.
pub(crate) fn of(
    book: &Book,
    sites: &[Site],
    digs: &[Dig],
    not_hired: &[NotHired],
) -> Vec<MethodUse> {
    (0..book.len())
        .map(|m| one(book, m, sites, digs, not_hired))
        .collect()
}

fn one(
    book: &Book,
    method: usize,
    sites: &[Site],
    digs: &[Dig],
    not_hired: &[NotHired],
) -> MethodUse {
    let id = book.id(method);
    let used = || sites.iter().zip(digs).filter(|(_, dig)| dig.method == *id);
    let can = |site: &&Site| site.ways.iter().any(|way| way.method == method);
    let could: Length = sites.iter().filter(can).map(|s| s.stretch.length).sum();
    let extra = not_hired.iter().find(|other| other.machine.0 == id.0);
    MethodUse {
        method: id.clone(),
        label: book.method(method).label.clone(),
        puts_in: used().map(|(site, _)| site.stretch.length).sum(),
        stretches: used().count(),
        hours: used().map(|(_, dig)| dig.hours).sum(),
        cost: used().map(|(_, dig)| dig.cost).sum(),
        could,
        extra: extra
            .filter(|_| could > Length::ZERO)
            .map(|other| other.extra),
        kept_from: kept_from(method, sites),
    }
}

fn kept_from(method: usize, sites: &[Site]) -> Option<KeptFrom> {
    let mut reasons: BTreeMap<&str, Length> = BTreeMap::new();
    for site in sites {
        let rejected = site.rejected.iter().find(|(m, _)| *m == method);
        if let Some(first) = rejected.and_then(|(_, why)| why.first()) {
            *reasons.entry(in_general(first)).or_default() += site.stretch.length;
        }
    }
    let most = reasons
        .into_iter()
        .max_by(|a, b| a.1.to_m().total_cmp(&b.1.to_m()))?;
    Some(KeptFrom {
        why: most.0.to_owned(),
        length: most.1,
    })
}

/// A reason up to where it tells what is there.
fn in_general(why: &str) -> &str {
    why.split("; ").next().unwrap_or(why)
}
