//! Findings and workings of meetings with services.

use super::{CrossingCheck, HandZone, Meeting, NearService, Passes, Separation, Verdict};
use crate::{Digging, findings::list};
use job::{Finding, Job};
use quantity::{Amount, Length};
use std::collections::BTreeMap;
use working::{Ledger, Working};

const EXPECTED: &str = "expected from the survey, whose depths and lines are not exact: expose the \
                        service and measure";

/// What is too close, what is not known, and which components stand near services.
pub(crate) fn findings(job: &Job, checks: &[CrossingCheck], near: &[NearService]) -> Vec<Finding> {
    let close = checks.iter().filter(|c| c.verdict == Verdict::TooClose);
    let mut findings: Vec<Finding> = close.map(|c| too_close(job, c)).collect();
    findings.extend(unknown(checks));
    findings.extend(components(job, near));
    findings
}

fn too_close(job: &Job, check: &CrossingCheck) -> Finding {
    let rules = &job.practice.utility;
    let show = |l: Length| l.small().show(job.units);
    let wanted = show(rules.vertical_clearance.value);
    let mut what = format!(
        "{} {} {} line {}",
        check.stretch,
        match check.meeting {
            Meeting::Crosses => "crosses",
            Meeting::Along => "runs along",
        },
        check.service,
        check.utility
    );
    if let Some(vertical) = &check.vertical {
        what.push_str(&format!("; {}, {wanted} wanted", apart(job, vertical)));
    }
    if let Some(horizontal) = check.horizontal {
        what.push_str(&format!(
            "; {} beside it, {} wanted",
            show(horizontal.max(Length::ZERO)),
            show(rules.horizontal_clearance.value)
        ));
    }
    Finding::warning(
        "service-too-close",
        check.utility.clone(),
        what,
        mend(job, check),
    )
}

/// How far apart, in words.
fn apart(job: &Job, vertical: &Separation) -> String {
    let what = &vertical.what;
    let side = match vertical.passes {
        Passes::Over => "over",
        Passes::Under => "under",
    };
    if vertical.clear < Length::ZERO {
        format!("{what} would lie in it")
    } else {
        let clear = vertical.clear.small().show(job.units);
        format!("{what} lies {clear} {side} it")
    }
}

/// Depths at which it would be far enough, if the survey is right.
fn mend(job: &Job, check: &CrossingCheck) -> String {
    let clear = job.practice.utility.vertical_clearance.value;
    let show = |l: Length| l.small().show(job.units);
    let mut ways = Vec::new();
    if let Some(depth) = check.service_depth {
        if depth > clear {
            ways.push(format!(
                "lay everything with its underside at most {} deep, if cover allows",
                show(depth - clear)
            ));
        }
        if let Some(width) = check.service_width {
            ways.push(format!(
                "lay everything with its top at least {} deep",
                show(depth + width + clear)
            ));
        }
    }
    ways.push("move the trench".to_owned());
    ways.push("ask the owner of the service, who decides".to_owned());
    ways.join("; or ")
}

/// One finding for each service of which too little is known.
fn unknown(checks: &[CrossingCheck]) -> Vec<Finding> {
    let mut by_service: BTreeMap<&str, Vec<&CrossingCheck>> = BTreeMap::new();
    for check in checks.iter().filter(|c| c.verdict == Verdict::Unknown) {
        by_service.entry(&check.utility).or_default().push(check);
    }
    by_service
        .into_iter()
        .filter_map(|(utility, checks)| {
            let stretches = list(checks.iter().map(|c| c.stretch))?;
            Some(Finding::caution(
                "service-separation-unknown",
                utility,
                format!(
                    "{stretches}: how far apart trench and {} line come to lie is not known",
                    checks[0].service
                ),
                "have it located, expose it by hand before anything else is dug there, measure its \
                 depth and width and put them into the survey",
            ))
        })
        .collect()
}

/// One finding for each service near which components stand.
fn components(job: &Job, near: &[NearService]) -> Vec<Finding> {
    let mut by_service: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for one in near {
        let away = one.horizontal.max(Length::ZERO).small().show(job.units);
        let words = format!("{} {} ({away})", one.what, one.component);
        by_service.entry(&one.utility).or_default().push(words);
    }
    let finding = |(utility, names): (&str, Vec<String>)| {
        Finding::caution(
            "component-near-service",
            utility,
            format!("in its tolerance zone stand {}", names.join(", ")),
            "dig their places by hand after the service is exposed, or move them out of the zone",
        )
    };
    by_service.into_iter().map(finding).collect()
}

/// Puts `crossing.1.vertical`, `crossing.1.horizontal`, `hand_zone.1.length` and their kin into the
/// ledger, numbered as in the result.
pub(crate) fn put_figures(job: &Job, digging: &Digging, ledger: &mut Ledger) {
    if ledger.is_closed() {
        return;
    }
    for (i, check) in digging.crossings.iter().enumerate() {
        let id = |name: &str| format!("crossing.{}.{name}", i + 1);
        ledger.put(id("vertical"), vertical(job, check));
        if let Some(horizontal) = check.horizontal {
            ledger.put(id("horizontal"), beside(job, check, horizontal));
        }
    }
    for (i, zone) in digging.hand_zones.iter().enumerate() {
        ledger.put(format!("hand_zone.{}.length", i + 1), length(zone));
    }
}

fn vertical(job: &Job, check: &CrossingCheck) -> Working {
    let rule = &job.practice.utility.vertical_clearance;
    let label = format!(
        "expected vertical separation of {} from {} line {}",
        check.stretch, check.service, check.utility
    );
    let formula = "over it: its depth - (cover + height of what lies in the trench); under it: cover - \
                   (its depth + its width); the larger of both, and the smallest of all that lies there";
    let working = match &check.vertical {
        Some(separation) => Working::new(label, separation.clear.small(), formula, "geometry")
            .with(
                "nearest",
                separation.what.as_str(),
                "what lies in the trench",
            ),
        None => Working::new(label, "unknown", formula, "geometry"),
    };
    let from = format!("job feature {}", check.utility);
    let known = |working: Working, name: &str, length: Option<Length>| match length {
        Some(length) => working.with(name, length.small(), from.clone()),
        None => working.with(name, "unknown", from.clone()),
    };
    let working = known(working, "its depth", check.service_depth);
    let working = known(working, "its width", check.service_width);
    working
        .with(
            "depth of the cut",
            check.cut_depth.small(),
            format!("figure stretch.{}.depth", check.stretch),
        )
        .with("wanted", rule.value.small(), rule.origin())
        .with(
            "expose by hand first",
            yes(check.expose),
            check.expose_why.as_str(),
        )
        .approximately(EXPECTED)
}

fn beside(job: &Job, check: &CrossingCheck, horizontal: Length) -> Working {
    let rule = &job.practice.utility.horizontal_clearance;
    let width = check.service_width;
    Working::new(
        format!(
            "expected horizontal separation of {} from {} line {}",
            check.stretch, check.service, check.utility
        ),
        horizontal.small(),
        "least distance of the centre lines - half of the trench or of what lies in it - half of the \
         service",
        "geometry",
    )
    .with(
        "width of the service",
        width.map_or(Length::ZERO, |w| w).small(),
        match width {
            Some(_) => format!("job feature {}", check.utility),
            None => "unknown, taken as a line".to_owned(),
        },
    )
    .with("angle", check.angle.amount(), "geometry")
    .with("wanted", rule.value.small(), rule.origin())
    .approximately(EXPECTED)
}

fn length(zone: &HandZone) -> Working {
    Working::new(
        "length dug by hand in a zone",
        zone.length.amount(),
        "sum of the stretches in it",
        "arithmetic",
    )
    .with(
        "stretches",
        Amount::count(zone.stretches.len()),
        zone.reason.as_str(),
    )
}

fn yes(yes: bool) -> &'static str {
    if yes { "yes" } else { "no" }
}
