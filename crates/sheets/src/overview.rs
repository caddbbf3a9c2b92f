//! The job on a page: what it is, what it comes to, and what must be true before the first cut.

use crate::told::{Told, many};
use crate::words;
use crate::{Block, Cell, Column, Fact, Page, Sheet, Table};
use job::{OutletKind, Severity};
use plan::crew::TaskKind;
use quantity::Style;

pub fn pages(told: &Told) -> Vec<Page> {
    let mut blocks = vec![figures(told), scope(told)];
    // Side by side, so that the whole job stays on its page.
    let tables = [methods(told), machines(told)].into_iter().flatten();
    let tables: Vec<Vec<Block>> = tables.map(|table| vec![Block::Table(table)]).collect();
    if !tables.is_empty() {
        blocks.push(Block::Columns(tables));
    }
    blocks.push(Block::Heading("Before the first cut".to_owned()));
    blocks.push(Block::Checks(before(told)));
    let open = decisions(told);
    if !open.is_empty() {
        blocks.push(Block::Heading("Wants a decision".to_owned()));
        blocks.push(Block::Checks(open));
    }
    blocks.push(Block::Caution(cautions(told)));
    vec![Page {
        title: Sheet::JobOnAPage.title().to_owned(),
        paper: told.paper(),
        blocks,
    }]
}

fn figures(told: &Told) -> Block {
    let schedule = &told.plan.schedule;
    let price = &told.plan.price;
    Block::Figures(vec![
        Fact::new("trench", told.show(told.plan.network.length().amount())),
        Fact::new("on site", many(schedule.days.len(), "day", "days")),
        Fact::new("crew", many(schedule.crew as usize, "person", "people")),
        Fact::new("price before tax", told.money(price.total)),
    ])
}

fn scope(told: &Told) -> Block {
    let (job, plan) = (told.job, told.plan);
    let of_kind = |kind| {
        let outlets = job.system.outlets.iter();
        outlets.filter(|outlet| outlet.kind == kind).count()
    };
    let mut outlets = vec![many(of_kind(OutletKind::Head), "head", "heads")];
    if of_kind(OutletKind::Drip) > 0 {
        outlets.push(many(of_kind(OutletKind::Drip), "drip area", "drip areas"));
    }
    let sleeves = plan.network.stretches.iter();
    let sleeves = sleeves.filter(|stretch| stretch.sleeve.is_some()).count();
    let left = vec![
        Fact::new("heads", outlets.join(", ")),
        Fact::new("circuits", job.system.circuits.len().to_string()),
        Fact::new("valves", job.system.valves.len().to_string()),
        Fact::new("points to stake", plan.staking.points.len().to_string()),
    ];
    let right = vec![
        Fact::new(
            "stretches of trench",
            plan.network.stretches.len().to_string(),
        ),
        Fact::new("sleeves under paving", sleeves.to_string()),
        Fact::new(
            "crossings of services",
            plan.network.crossings.len().to_string(),
        ),
        Fact::new("price with tax", told.money(plan.price.with_tax)),
    ];
    Block::Columns(vec![vec![Block::Facts(left)], vec![Block::Facts(right)]])
}

fn methods(told: &Told) -> Option<Table> {
    let columns = vec![
        Column::words("method", 1),
        Column::right("stretches"),
        Column::measure("length", Style::Length, told.units),
        Column::measure("time", Style::Hours, told.units),
    ];
    let mut table = Table::new("methods", columns).titled("How it is dug");
    let used = told.plan.digging.methods.iter();
    for of in used.filter(|of| of.stretches > 0) {
        table.row(vec![
            Cell::text(&of.label),
            Cell::text(of.stretches.to_string()),
            Cell::number(of.puts_in.amount(), told.units),
            Cell::number(of.hours.amount(), told.units),
        ]);
    }
    (!table.is_empty()).then_some(table)
}

fn machines(told: &Told) -> Option<Table> {
    let columns = vec![
        Column::words("machine", 2),
        Column::words("on site", 2),
        Column::words("least hire", 1),
        Column::tick("ordered"),
    ];
    let mut table = Table::new("machines", columns).titled("Machines to hire");
    for hire in &told.plan.digging.hires {
        table.row(vec![
            Cell::text(&hire.label),
            Cell::text(words::on_site(told, hire)),
            Cell::text(&hire.term),
            Cell::Tick,
        ]);
    }
    (!table.is_empty()).then_some(table)
}

/// What must be true before the first cut.
fn before(told: &Told) -> Vec<String> {
    let plan = told.plan;
    let mut all = Vec::new();
    for ahead in &plan.schedule.ahead {
        let when = words::ahead_when(ahead);
        all.push(match ahead.kind {
            TaskKind::Locate => {
                format!("Every service is marked or cleared ({when}); nothing is dug before.")
            }
            TaskKind::Request => {
                format!("The locate request is made ({when}). Number: ______________________")
            }
            _ => format!("The dig area is white-lined ({when})."),
        });
    }
    all.push(format!(
        "Routes, heads and valves are marked on the ground ({}, sheet {}).",
        many(plan.staking.points.len(), "point", "points"),
        Sheet::Staking.title()
    ));
    let expose = plan.digging.crossings.iter().filter(|check| check.expose);
    match expose.count() {
        0 => {}
        n => all.push(format!(
            "Services are exposed by hand at {} (test holes) before a machine comes near.",
            many(n, "place", "places")
        )),
    }
    if !plan.digging.hires.is_empty() {
        all.push(
            "Hired machines are here with their manuals, and whoever runs them has read them."
                .to_owned(),
        );
    }
    all.push(format!(
        "Material is here and counted ({}).",
        many(plan.takeoff.items.len(), "line", "lines")
    ));
    all.push(
        "Permits are here; tie-in, backflow and wiring are with those licensed for them where the code asks for it."
            .to_owned(),
    );
    all.push("A competent person for the trenches is named: ______________________".to_owned());
    all
}

fn decisions(told: &Told) -> Vec<String> {
    let findings = told.plan.findings.iter();
    let open = findings.filter(|finding| finding.severity == Severity::Warning);
    open.map(|finding| {
        format!(
            "{}: {}. To mend: {}.",
            finding.subject, finding.what, finding.mend
        )
    })
    .collect()
}

/// The cautions that hold for the whole job.
fn cautions(told: &Told) -> Vec<String> {
    let findings = told.plan.findings.iter();
    let whole = findings.filter(|finding| {
        finding.severity == Severity::Caution && finding.subject == job::Finding::WHOLE_JOB
    });
    whole
        .map(|finding| words::sentence(&format!("{}: {}", finding.what, finding.mend)))
        .collect()
}
