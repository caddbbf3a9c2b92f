//! What is to be seen to where pipe is pulled in.

use super::figures::volume;
use super::{Pit, Scoring, distinct};
use crate::findings::list;
use crate::offers::Book;
use crate::{Dig, Pull};
use job::Finding;

/// Pits, stones, and tension beyond what the pipe stands.
pub(crate) fn of(book: &Book, digs: &[Dig]) -> Vec<Finding> {
    let mut findings: Vec<Finding> = digs.iter().filter_map(|d| too_hard(book, d)).collect();
    findings.extend(pits(book, digs));
    findings.extend(stones(book, digs));
    findings
}

/// A pull alone may be divided otherwise than in the run in which it was tried.
fn too_hard(book: &Book, dig: &Dig) -> Option<Finding> {
    let pull = dig.pull.as_ref()?;
    let hair = 1.0 + 1e-9;
    let pipe = pull.pipes.iter().find(|p| p.tension > p.allowable * hair)?;
    Some(Finding::warning(
        "pull-too-hard",
        dig.stretch.to_string(),
        format!(
            "the pull puts {} on {}, which stands {}",
            pipe.tension.amount().show(book.job.units),
            pipe.what,
            pipe.allowable.amount().show(book.job.units)
        ),
        "put one more pit in, or dig this stretch open",
    ))
}

fn pits(book: &Book, digs: &[Dig]) -> Option<Finding> {
    let stretches = pulled(digs, |_| true)?;
    let pits: Vec<&Pit> = distinct(digs);
    let bank = volume(&pits).amount().show(book.job.units);
    Some(Finding::caution(
        "pulling-pits",
        stretches,
        format!(
            "pipe is pulled in here with {} pits by hand, {bank} in all, counted in volumes, hours \
             and cost",
            pits.len()
        ),
        "cover open pits when nobody is at them, and expose every service near them first",
    ))
}

fn stones(book: &Book, digs: &[Dig]) -> Option<Finding> {
    let few = |p: &Pull| p.scoring != Scoring::Clean && !p.pipes.is_empty();
    let stretches = pulled(digs, few)?;
    let scratch = digs
        .iter()
        .filter_map(|d| d.pull.as_ref().filter(|p| few(p)))
        .flat_map(|p| p.pipes.iter().map(|pipe| pipe.scratch))
        .min_by(quantity::Length::total_cmp)?;
    Some(Finding::caution(
        "stones-at-pulled-pipe",
        stretches,
        format!(
            "few stones lie beside the pipe that is pulled in; how deep they score it cannot be worked \
             out, and pulled pipe cannot be bedded. A scratch deeper than {} is too deep",
            scratch.thickness().show(book.job.units)
        ),
        "look at the pipe that comes out at the first pit; a first pass without pipe, a heavier wall or \
         an open trench are the ways out",
    ))
}

fn pulled(digs: &[Dig], which: impl Fn(&Pull) -> bool) -> Option<String> {
    let hit = |d: &&Dig| d.pull.as_ref().is_some_and(&which);
    list(digs.iter().filter(hit).map(|d| d.stretch))
}
