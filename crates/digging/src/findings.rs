//! What stands against the digging: conflicts, and the usual cautions where they apply.

use crate::offers::{Book, Site};
use crate::{Dig, FillMoisture, hire};
use job::practice::Winter;
use job::prices::MethodKind;
use job::{Basis, Finding};
use quantity::Money;
use quantity::{Amount, Length, Style};
use routes::{Network, StretchId, Zone};
use std::collections::{BTreeMap, BTreeSet};

/// All findings: conflicts by stretch first, then cautions.
pub(crate) fn of(
    book: &Book,
    network: &Network,
    sites: &[Site],
    digs: &[Dig],
    (choice, gap): (&hire::Choice, Money),
) -> Vec<Finding> {
    let mut findings: Vec<Finding> = sites
        .iter()
        .zip(&choice.methods)
        .filter(|(_, method)| method.is_none())
        .map(|(site, _)| conflict(book, site))
        .collect();
    findings.extend(deep(book, digs));
    findings.extend(zones(book, network));
    findings.extend(crate::pull::findings::of(book, digs));
    findings.extend(tight_slack(book, digs));
    findings.extend(short_slack(book, network, digs));
    findings.extend(wet_spoil(book, digs));
    findings.extend(no_frost_depth(book));
    findings.extend(assumed_pace(book, choice));
    findings.extend(not_proven(gap));
    findings
}

/// A stretch without a feasible method, with what would resolve it.
fn conflict(book: &Book, site: &Site) -> Finding {
    let hand = site.rejected.iter().find(|(m, _)| *m == book.fallback);
    let why = hand.map_or_else(String::new, |(_, why)| why.join("; "));
    let nearest = site
        .rejected
        .iter()
        .filter(|(m, _)| book.method(*m).kind != MethodKind::Sleeve)
        .min_by_key(|(m, why)| (why.len(), *m));
    let mend = match nearest {
        Some((m, why)) => format!(
            "nearest is the {} ({}): move the stretch, change what lies in it, or change the \
             method's limits in the price book if yours does more",
            book.method(*m).label,
            why.join("; ")
        ),
        None => "move the stretch, or add a method to the price book that can do it".to_owned(),
    };
    let label = &book.method(book.fallback).label;
    Finding::warning(
        "no-feasible-method",
        site.id.to_string(),
        format!("no method can put this stretch in; {label} is assumed, against: {why}"),
        mend,
    )
}

/// Deep trenches, by the rule that they meet.
fn deep(book: &Book, digs: &[Dig]) -> Vec<Finding> {
    let rules = &book.job.practice.excavation;
    let show = |l: Length| l.amount().show(book.job.units);
    let which =
        |test: &dyn Fn(&Dig) -> bool| list(digs.iter().filter(|d| test(d)).map(|d| d.stretch));
    let mut findings = Vec::new();
    if let Some(stretches) = which(&|d| d.section.egress) {
        findings.push(Finding::caution(
            "way-out",
            stretches,
            format!(
                "{} deep or more: a way out within {} of everyone in the trench",
                show(rules.egress_depth.value),
                show(rules.egress_travel.value)
            ),
            "put in a ladder or ramp; local code and a competent person on site decide",
        ));
    }
    if let Some(stretches) = which(&|d| d.section.protection) {
        let mut sides: Vec<&str> = Vec::new();
        for dig in digs.iter().filter(|d| d.section.protection) {
            let label = dig.section.sides.label();
            if !sides.contains(&label) {
                sides.push(label);
            }
        }
        findings.push(Finding::warning(
            "deep-trench",
            stretches,
            format!(
                "{} deep or more: sides are planned {}, spoil {} from the edge",
                show(rules.protection_depth.value),
                sides.join(" or "),
                show(rules.spoil_setback.value)
            ),
            "a competent person classifies the soil and decides on sloping or shoring; local code \
             counts",
        ));
    }
    if let Some(stretches) = which(&|d| d.section.depth > rules.engineer_depth.value) {
        findings.push(Finding::warning(
            "engineer-depth",
            stretches,
            format!("deeper than {}", show(rules.engineer_depth.value)),
            "a registered engineer designs the protection",
        ));
    }
    findings
}

/// Hand-dig zones of services and trees, one finding for each service or tree.
fn zones(book: &Book, network: &Network) -> Vec<Finding> {
    let mut by_zone: BTreeMap<&Zone, Vec<StretchId>> = BTreeMap::new();
    for (id, stretch) in network.iter() {
        for zone in &stretch.ground.zones {
            by_zone.entry(zone).or_default().push(id);
        }
    }
    by_zone
        .into_iter()
        .filter_map(|(zone, ids)| zone_finding(book, zone, &list(ids.into_iter())?))
        .collect()
}

fn zone_finding(book: &Book, zone: &Zone, stretches: &str) -> Option<Finding> {
    let why = crate::feasible::zone_reason(book.job, zone);
    match zone {
        Zone::Utility(id) => Some(Finding::caution(
            "utility-zone",
            id.clone(),
            format!("{stretches}: {why}"),
            "have it located and marked; expose it by hand or vacuum before any machine comes near",
        )),
        Zone::Roots(id) => Some(Finding::caution(
            "root-zone",
            id.clone(),
            format!("{stretches}: {why}"),
            "dig by hand or air, pass under roots rather than through them",
        )),
        Zone::Structure(_) => None,
    }
}

/// Trenches in which pipe has no room for its bows.
fn tight_slack(book: &Book, digs: &[Dig]) -> Option<Finding> {
    let tight = |d: &&Dig| d.slack.iter().any(|s| !s.fits);
    let stretches = list(digs.iter().filter(tight).map(|d| d.stretch))?;
    let cooling = Amount::new(book.job.practice.expansion.cooling(), Style::Warming);
    Some(Finding::caution(
        "slack-room",
        stretches,
        format!(
            "too narrow to lay the pipe from side to side for {} of cooling",
            cooling.show(book.job.units)
        ),
        "cut wider, or lay and close the pipe in the cool of the morning",
    ))
}

/// Pipe that shrinks by more than is laid, and bought, in excess of the trench.
fn short_slack(book: &Book, network: &Network, digs: &[Dig]) -> Option<Finding> {
    let rules = &book.job.practice.cut.pipe_slack;
    let short = |d: &&Dig| {
        let most = network.stretch(d.stretch).length * rules.value.to_one();
        d.slack.iter().any(|s| s.added > most)
    };
    let stretches = list(digs.iter().filter(short).map(|d| d.stretch))?;
    Some(Finding::caution(
        "slack-length",
        stretches,
        format!(
            "the pipe shrinks by more than the {:.1}% that is laid in excess",
            rules.value.to_percent()
        ),
        "raise the rule cut.pipe_slack, so that the list has the pipe",
    ))
}

/// Spoil too wet to be tamped as it comes out.
fn wet_spoil(book: &Book, digs: &[Dig]) -> Option<Finding> {
    let wet = |d: &&Dig| d.fill.moisture == FillMoisture::Wet;
    let stretches = list(digs.iter().filter(wet).map(|d| d.stretch))?;
    let window = book.job.practice.fill.moisture_window.value;
    Some(Finding::caution(
        "wet-spoil",
        stretches,
        format!(
            "the spoil holds over {:.0} points more water than it tamps best with",
            window.to_percent()
        ),
        "spread it to dry before it goes back, or fill with drier soil",
    ))
}

/// Pipe that is to lie below a frost whose depth nobody gave.
fn no_frost_depth(book: &Book) -> Option<Finding> {
    let cover = &book.job.practice.cover;
    let missing =
        cover.winter.value == Winter::BelowFrost && cover.frost_depth.value <= Length::ZERO;
    missing.then(|| {
        Finding::warning(
            "no-frost-depth",
            "practice cover.frost_depth",
            "pipe is to lie below frost, and no depth of frost is given",
            "give the depth that the local authority publishes, or practice frost.freezing_index",
        )
    })
}

/// Machines hired on paces that nobody measured.
fn assumed_pace(book: &Book, choice: &hire::Choice) -> Option<Finding> {
    let assumed: Vec<String> = choice
        .methods
        .iter()
        .flatten()
        .collect::<BTreeSet<_>>()
        .into_iter()
        .map(|method| book.method(*method))
        .filter(|m| m.hire.is_some() && m.pace.values().any(|p| p.basis == Basis::Invented))
        .map(|m| format!("the {}", m.label))
        .collect();
    (!assumed.is_empty()).then(|| {
        Finding::caution(
            "assumed-pace",
            "prices method",
            format!("an assumption is the pace of {}", assumed.join(", ")),
            "put your own record into the price book; hours, days of hire and the choice follow \
             from it",
        )
    })
}

fn not_proven(gap: Money) -> Option<Finding> {
    (gap > Money::ZERO).then(|| {
        Finding::caution(
            "machine-choice",
            "prices method",
            format!(
                "the search for machines and methods was stopped: another choice may cost up to {gap} \
                 less on these trenches"
            ),
            "take machines that you would not hire out of the price book",
        )
    })
}

/// Ids in a row; `None` for none.
pub(crate) fn list(ids: impl Iterator<Item = StretchId>) -> Option<String> {
    let names: Vec<String> = ids.map(|id| id.to_string()).collect();
    (!names.is_empty()).then(|| names.join(", "))
}
