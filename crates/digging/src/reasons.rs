//! The result for one stretch, with its reasons in words.

use crate::contents::Layout;
use crate::markers::markers;
use crate::offers::{Book, Site, Way, way};
use crate::section::Cut;
use crate::{Content, Dig, Fill, NextBest, Rejected, Section, feasible, fill, section, slack};
use job::practice::{Cover, Sides};
use job::prices::MethodKind;
use job::{Job, Sourced};
use quantity::{Length, Money};

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
        section: section(book.job, site, &chosen, by.kind),
        earth: chosen.earth,
        fill: filled(book.job, site, &chosen),
        slack: slack::slacks(
            &book.job.practice,
            &site.layout,
            &chosen.cut,
            site.stretch.length,
        ),
        pull: chosen.pull,
    }
}

fn filled(job: &Job, site: &Site, chosen: &Way) -> Fill {
    let ground = &site.stretch.ground;
    fill::fill(
        &job.practice,
        (&ground.soil, ground.surface),
        &site.layout,
        &chosen.cut,
        &chosen.earth,
        site.stretch.length,
    )
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
fn section(job: &Job, site: &Site, chosen: &Way, kind: MethodKind) -> Section {
    let (layout, cut) = (&site.layout, &chosen.cut);
    let soil = &site.stretch.ground.soil;
    let travel = job.practice.excavation.egress_travel.value;
    Section {
        depth: cut.depth,
        width: cut.width,
        side_slope: cut.side_slope,
        top_width: cut.top_width,
        bedding: cut.bedding,
        contents: contents(layout, kind),
        depth_rule: depth_rule(job, layout, cut, kind),
        width_rule: width_rule(job, layout, cut, kind),
        egress: cut.egress,
        protection: cut.protection,
        sides: cut.sides,
        benches: cut.benches,
        sides_rule: sides_rule(chosen),
        ways_out: if cut.egress {
            section::ways_out(site.stretch.length, travel)
        } else {
            Vec::new()
        },
        worked_width: section::worked_width(&job.practice, soil, cut),
        markers: markers(&job.practice, layout, kind),
    }
}

fn sides_rule(chosen: &Way) -> String {
    let sides = chosen.cut.sides;
    if sides == Sides::Upright {
        return String::new();
    }
    let decides = "a competent person on site decides";
    match chosen.other_sides {
        Some((total, other)) if total > chosen.total => format!(
            "{}, {} less than {}; {decides}",
            sides.label(),
            total - chosen.total,
            other.label()
        ),
        Some((_, other)) => format!("{}, as dear as {}; {decides}", sides.label(), other.label()),
        None => format!("{}; {decides}", sides.label()),
    }
}

fn contents(layout: &Layout, kind: MethodKind) -> Vec<Content> {
    let on_top = kind == MethodKind::Surface;
    layout
        .placed
        .iter()
        .zip(&layout.middles)
        .map(|((thing, cover), middle)| Content {
            line: thing.line,
            what: thing.what.clone(),
            outside: thing.outside,
            count: thing.count,
            cover: if on_top { Length::ZERO } else { *cover },
            middle: *middle,
        })
        .collect()
}

fn depth_rule(job: &Job, layout: &Layout, cut: &Cut, kind: MethodKind) -> String {
    let Some((thing, _)) = layout.placed.get(layout.governs) else {
        return "nothing lies here".to_owned();
    };
    if kind == MethodKind::Surface {
        return "pinned on the surface, without cover".to_owned();
    }
    let show = |length: Length| length.small().show(job.units);
    let mut rule = format!(
        "{}: {} of cover{} + {} of its own",
        thing.what,
        show(thing.cover.value),
        asked_by(&job.practice.cover, thing.cover),
        show(thing.high())
    );
    if cut.bedding > Length::ZERO {
        rule.push_str(&format!(" + {} of bedding", show(cut.bedding)));
    }
    rule
}

/// What asks for a cover, if it is not the role of what lies there.
fn asked_by(rules: &Cover, cover: &Sourced<Length>) -> &'static str {
    let is = |rule: &Sourced<Length>| std::ptr::eq(rule, cover);
    let mut by_size = rules.exposed_from.values().chain(rules.quiet_from.values());
    if is(&rules.pipe_under_traffic) || is(&rules.cable_under_traffic) {
        " under traffic"
    } else if is(&rules.frost_depth) {
        ", the depth of frost,"
    } else if by_size.any(is) {
        " for its size"
    } else {
        ""
    }
}

fn width_rule(job: &Job, layout: &Layout, cut: &Cut, kind: MethodKind) -> String {
    let show = |length: Length| length.small().show(job.units);
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
