//! The result for one stretch, with its reasons in words.

use crate::contents::Layout;
use crate::offers::{Book, Site, Way, way};
use crate::section::Cut;
use crate::{Content, Dig, NextBest, Rejected, Section, feasible};
use job::prices::MethodKind;
use job::{Job, SurfaceKind};
use quantity::Money;
use routes::LineKind;

/// The result for a stretch by its chosen method, or by the fallback where none is feasible.
pub(crate) fn dig(book: &Book, site: &Site, method: Option<usize>, at_hand: &[bool]) -> Dig {
    let chosen = chosen_way(book, site, method);
    let by = book.method(chosen.method);
    let next = next_best(site, &chosen);
    let reason = match method {
        Some(_) => reason(book, site, &chosen, next, at_hand),
        None => format!(
            "no method is feasible here; {} is assumed until that is resolved",
            by.label
        ),
    };
    let rejected = site.rejected.iter().map(|(m, why)| Rejected {
        method: book.id(*m).clone(),
        why: why.join("; "),
    });
    Dig {
        stretch: site.id,
        method: book.id(chosen.method).clone(),
        reason,
        cost: chosen.total,
        next_best: next.map(|way| NextBest {
            method: book.id(way.method).clone(),
            extra: way.total - chosen.total,
        }),
        rejected: rejected.collect(),
        hours: chosen.hours,
        crew: by.crew.value,
        section: section(book.job, site, &chosen.cut, by.kind),
        earth: chosen.earth,
    }
}

/// The way that was chosen; for no method, digging as the fallback would.
pub(crate) fn chosen_way(book: &Book, site: &Site, method: Option<usize>) -> Way {
    let chosen = method.and_then(|m| site.ways.iter().find(|w| w.method == m));
    chosen.cloned().unwrap_or_else(|| {
        let length = site.stretch.length;
        way(book, site.stretch, &site.layout, book.fallback, length)
    })
}

/// The cheapest other feasible method, hire left out.
fn next_best<'a>(site: &'a Site, chosen: &Way) -> Option<&'a Way> {
    site.ways
        .iter()
        .filter(|way| way.method != chosen.method)
        .min_by_key(|way| (way.total, way.method))
}

fn reason(book: &Book, site: &Site, chosen: &Way, next: Option<&Way>, at_hand: &[bool]) -> String {
    let label = &book.method(chosen.method).label;
    let time = chosen.hours.amount().show(book.job.units);
    let mut why = vec![format!("{label}: {time}")];
    why.extend(compared(book, chosen, next, at_hand));
    why.extend(kept_out(book, site, chosen, at_hand));
    why.join("; ")
}

/// How it compares with the next best.
fn compared(book: &Book, chosen: &Way, next: Option<&Way>, at_hand: &[bool]) -> Option<String> {
    let Some(next) = next else {
        return Some("nothing else is feasible".to_owned());
    };
    let label = &book.method(next.method).label;
    let extra = next.total - chosen.total;
    let idle = !at_hand[next.method];
    Some(match (extra.cmp(&Money::ZERO), idle) {
        (std::cmp::Ordering::Less, true) => format!(
            "{label} would save {} here but is not worth its hire",
            Money::ZERO - extra
        ),
        (std::cmp::Ordering::Less, false) => format!(
            "{label} would save {} here but cost more of hire",
            Money::ZERO - extra
        ),
        (std::cmp::Ordering::Equal, _) => format!("{label} costs the same"),
        (std::cmp::Ordering::Greater, _) => format!("{extra} less than {label}"),
    })
}

/// What keeps machines out here, so far as it bears on the method chosen.
fn kept_out(book: &Book, site: &Site, chosen: &Way, at_hand: &[bool]) -> Option<String> {
    let ground = &site.stretch.ground;
    if site.stretch.sleeve.is_some() {
        return Some(through(site));
    }
    if !ground.zones.is_empty() {
        let zones = ground.zones.iter();
        let why: Vec<String> = zones.map(|z| feasible::zone_reason(book.job, z)).collect();
        return Some(why.join("; "));
    }
    let (method, why) = telling(book, site, chosen, at_hand)?;
    Some(format!(
        "no {} here: {}",
        book.method(method).label,
        why.join("; ")
    ))
}

/// The rejected machine whose objections tell most: by hand, one that is on site anyway, then one
/// that cannot get here, then the one with the fewest objections; by a machine, one of its kind that
/// cannot get here.
fn telling<'a>(
    book: &Book,
    site: &'a Site,
    chosen: &Way,
    at_hand: &[bool],
) -> Option<(usize, &'a [String])> {
    let kind = book.method(chosen.method).kind;
    let shut_out = |method: usize| {
        let mut blocked = site.stretch.ground.blocked.iter();
        blocked.any(|b| b.method == *book.id(method))
    };
    let rejected = site.rejected.iter();
    let hit = if kind == MethodKind::Hand {
        rejected
            .filter(|(m, _)| {
                let kind = book.method(*m).kind;
                matches!(kind, MethodKind::Trench | MethodKind::Pull)
            })
            .min_by_key(|(m, why)| (!at_hand[*m], !shut_out(*m), why.len(), *m))
    } else {
        rejected
            .filter(|(m, _)| book.method(*m).kind == kind)
            .find(|(m, _)| shut_out(*m))
    };
    hit.map(|(m, why)| (*m, why.as_slice()))
}

fn through(site: &Site) -> String {
    let surface = site.stretch.ground.surface.label();
    let existing = site
        .stretch
        .sleeve
        .as_ref()
        .and_then(|s| s.existing.as_ref());
    match existing {
        Some(id) => format!("under {surface} through the sleeve {id} that is there"),
        None => format!("under {surface} through a new sleeve"),
    }
}

/// The section with its rules in words.
fn section(job: &Job, site: &Site, cut: &Cut, kind: MethodKind) -> Section {
    let layout = &site.layout;
    Section {
        depth: cut.depth,
        width: cut.width,
        side_slope: cut.side_slope,
        top_width: cut.top_width,
        bedding: cut.bedding,
        contents: contents(layout, kind),
        depth_rule: depth_rule(job, layout, cut, kind, site.stretch.ground.surface),
        width_rule: width_rule(job, layout, cut, kind),
        egress: cut.egress,
        protection: cut.protection,
    }
}

fn contents(layout: &Layout, kind: MethodKind) -> Vec<Content> {
    let on_top = kind == MethodKind::Surface;
    layout
        .placed
        .iter()
        .map(|(thing, cover)| Content {
            line: thing.line,
            what: thing.what.clone(),
            outside: thing.outside,
            count: thing.count,
            cover: if on_top {
                quantity::Length::ZERO
            } else {
                *cover
            },
        })
        .collect()
}

fn depth_rule(
    job: &Job,
    layout: &Layout,
    cut: &Cut,
    kind: MethodKind,
    surface: SurfaceKind,
) -> String {
    let Some((thing, _)) = layout.placed.get(layout.governs) else {
        return "nothing lies here".to_owned();
    };
    if kind == MethodKind::Surface {
        return "pinned on the surface, without cover".to_owned();
    }
    let show = |length: quantity::Length| length.small().show(job.units);
    let mut rule = format!(
        "{}: {} of cover{} + {} of its own",
        thing.what,
        show(thing.cover.value),
        traffic(thing.kind, surface),
        show(thing.high())
    );
    if cut.bedding > quantity::Length::ZERO {
        rule.push_str(&format!(" + {} of bedding", show(cut.bedding)));
    }
    rule
}

fn traffic(kind: &LineKind, surface: SurfaceKind) -> &'static str {
    match (surface.bears_traffic(), kind.is_pipe()) {
        (true, _) => " under traffic",
        (false, _) => "",
    }
}

fn width_rule(job: &Job, layout: &Layout, cut: &Cut, kind: MethodKind) -> String {
    let show = |length: quantity::Length| length.small().show(job.units);
    match kind {
        MethodKind::Surface => "no trench: pinned on the surface".to_owned(),
        MethodKind::Pull => "no trench: pulled in".to_owned(),
        MethodKind::Sleeve => "no trench: through a sleeve".to_owned(),
        MethodKind::Hand | MethodKind::Trench => {
            let count = match layout.abreast {
                1 => "one thing".to_owned(),
                n => format!("{n} side by side"),
            };
            format!(
                "{count} with gaps {}; cut {}",
                show(layout.width),
                show(cut.width)
            )
        }
    }
}
