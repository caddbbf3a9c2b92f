//! The cut list: every stretch in the order in which it is dug, with what one has to know at its end.

use crate::told::Told;
use crate::words;
use crate::{Block, Cell, Column, Drawing, Page, Paper, Remark, Sheet, Stands, Table};
use drawing::SectionKind;
use job::Severity;
use job::practice::Sides;
use plan::crew::{Task, TaskKind};
use plan::digging::{Dig, Marker};
use plan::routes::{Stretch, StretchId};
use quantity::{Length, Style};
use std::collections::{BTreeMap, BTreeSet};

pub fn pages(told: &Told) -> Vec<Page> {
    let sections = drawing::sections(told.job, told.plan, told.units);
    let table = table(told, &sections);
    if table.is_empty() {
        return Vec::new();
    }
    let step = match told.units {
        quantity::Units::Us => "quarter of an inch",
        quantity::Units::Si => "5 mm",
    };
    let note = format!(
        "In the order in which it is dug. Depth is from grade to the floor of the cut, bedding included; depth and \
         width are rounded up to the next {step}. Tick dug, laid and filled; nothing is filled before it is \
         inspected and tested. Cross-sections by their number stand behind the list."
    );
    let mut pages = vec![Page {
        title: Sheet::CutList.title().to_owned(),
        paper: told.paper().across(),
        blocks: vec![Block::Note(note), Block::Table(table)],
    }];
    if !sections.is_empty() {
        pages.push(Page {
            title: "Cross-sections".to_owned(),
            paper: Paper::large(told.units).across(),
            blocks: vec![Block::Details(sections.into_iter().map(detail).collect())],
        });
    }
    pages
}

fn detail(kind: SectionKind) -> Drawing {
    let words = format!(
        "{}: {}. {}",
        kind.name,
        kind.words,
        words::stretches(&kind.stretches)
    );
    let SectionKind { picture, .. } = kind;
    Drawing::new(picture.svg, picture.width, picture.height, words)
}

fn numbers(sections: &[SectionKind]) -> BTreeMap<StretchId, String> {
    let each = sections.iter().flat_map(|kind| {
        let stretches = kind.stretches.iter();
        stretches.map(|stretch| (*stretch, kind.name.clone()))
    });
    each.collect()
}

fn table(told: &Told, sections: &[SectionKind]) -> Table {
    let units = told.units;
    let columns = vec![
        Column::left("stretch"),
        Column::left("from"),
        Column::left("to"),
        Column::measure("length", Style::Length, units),
        Column::words("method", 5),
        Column::measure("depth", Style::SmallLength, units),
        Column::measure("width", Style::SmallLength, units),
        Column::right("section"),
        Column::words("contents", 6),
        Column::words("surface", 3),
        Column::tick("dug"),
        Column::tick("laid"),
        Column::tick("filled"),
    ];
    let mut list = List {
        told,
        table: Table::new("cut-list", columns),
        digs: told
            .plan
            .digging
            .digs
            .iter()
            .map(|d| (d.stretch, d))
            .collect(),
        listed: BTreeSet::new(),
        sections: numbers(sections),
        warnings: warnings(told),
    };
    let tasks = told.plan.schedule.tasks.iter();
    for task in tasks.filter(|task| matches!(task.kind, TaskKind::Dig | TaskKind::Sleeve)) {
        list.task(task);
    }
    list.others();
    list.table
}

/// What stands against stretches, by stretch.
fn warnings(told: &Told) -> BTreeMap<String, Vec<Remark>> {
    let mut by_stretch: BTreeMap<String, Vec<Remark>> = BTreeMap::new();
    let findings = told.plan.findings.iter();
    for finding in findings.filter(|finding| finding.severity != Severity::Error) {
        let all = by_stretch.entry(finding.subject.clone()).or_default();
        let words = format!("{}: {}", finding.what, finding.mend);
        all.push(match finding.severity {
            Severity::Warning => Remark::loud(words),
            _ => Remark::shared(words),
        });
    }
    by_stretch
}

struct List<'a> {
    told: &'a Told<'a>,
    table: Table,
    digs: BTreeMap<StretchId, &'a Dig>,
    listed: BTreeSet<StretchId>,
    /// The number of the cross-section of each stretch that has one.
    sections: BTreeMap<StretchId, String>,
    warnings: BTreeMap<String, Vec<Remark>>,
}

impl List<'_> {
    fn task(&mut self, task: &Task) {
        let day = words::day_named(self.told, task.from.day);
        let title = format!("{day}, {}: {} {}", task.from.time(), task.id, task.what);
        self.table.group(title);
        self.stretches(&task.stretches);
    }

    /// Stretches, and under them what several of them have in common.
    fn stretches(&mut self, stretches: &[StretchId]) {
        let mut shared: Vec<(String, Vec<StretchId>)> = Vec::new();
        for &stretch in stretches {
            for words in self.stretch(stretch) {
                match shared.iter_mut().find(|(known, _)| *known == words) {
                    Some((_, with)) => with.push(stretch),
                    None => shared.push((words, vec![stretch])),
                }
            }
        }
        let told = shared
            .into_iter()
            .map(|(words, with)| format!("{}: {words}", words::stretches(&with)));
        self.table.foot(told.collect());
    }

    /// Stretches that no task digs.
    fn others(&mut self) {
        let all = self.told.plan.network.iter().map(|(id, _)| id);
        let left: Vec<StretchId> = all.filter(|id| !self.listed.contains(id)).collect();
        if !left.is_empty() {
            self.table.group("in no task of the days");
        }
        self.stretches(&left);
    }

    /// A row; gives what it may have in common with others.
    fn stretch(&mut self, id: StretchId) -> Vec<String> {
        let Some(dig) = self
            .digs
            .get(&id)
            .copied()
            .filter(|_| self.listed.insert(id))
        else {
            return Vec::new();
        };
        let (told, stretch) = (self.told, self.told.plan.network.stretch(id));
        let small = |length: Length| {
            let amount = length.small();
            Cell::written(layers::on_tape(length, told.units), amount, told.units)
        };
        let cells = vec![
            Cell::text(id.to_string()),
            Cell::text(layers::words::node(told.job, told.plan, stretch.from)),
            Cell::text(layers::words::node(told.job, told.plan, stretch.to)),
            Cell::number(stretch.length.amount(), told.units),
            Cell::text(layers::words::method(told.job, &dig.method)),
            small(dig.section.depth),
            small(dig.section.width),
            Cell::text(self.sections.get(&id).map_or("–", String::as_str)),
            Cell::text(layers::words::contents(dig)),
            Cell::text(stretch.ground.surface.label()),
            Cell::Tick,
            Cell::Tick,
            Cell::Tick,
        ];
        let note = self.note(id, stretch, dig);
        let shared = note.iter().filter(|remark| remark.stands == Stands::Foot);
        let shared = shared.map(|remark| remark.words.clone()).collect();
        self.table.noted(cells, note);
        shared
    }

    /// What else one has to know there.
    fn note(&self, id: StretchId, stretch: &Stretch, dig: &Dig) -> Vec<Remark> {
        let told = self.told;
        let mut parts = Vec::new();
        let zones = layers::words::zones(stretch);
        if !zones.is_empty() {
            parts.push(Remark::loud(format!("BY HAND: {zones}")));
        }
        parts.extend(crossings(told, id));
        let sleeve = layers::words::sleeve(stretch);
        if !sleeve.is_empty() {
            parts.push(Remark::shared(format!("sleeve {sleeve}")));
        }
        parts.extend(section(told, dig));
        let markers = dig.section.markers.iter().map(|m| marker(told, m));
        parts.extend(markers.chain(pull(told, dig)).map(Remark::shared));
        let warnings = self.warnings.get(&id.to_string());
        parts.extend(warnings.into_iter().flatten().cloned());
        parts
    }
}

/// Services that are exposed on a stretch.
fn crossings(told: &Told, id: StretchId) -> Vec<Remark> {
    let checks = told.plan.digging.crossings.iter();
    let here = checks.filter(|check| check.stretch == id && check.expose);
    here.map(|check| {
        let depth = match check.service_depth {
            Some(depth) => format!(", believed {} deep", words::on_tape(told, depth)),
            None => ", depth not known".to_owned(),
        };
        Remark::loud(format!(
            "EXPOSE {} {} by hand first{depth}",
            check.service, check.utility
        ))
    })
    .collect()
}

/// What is out of the ordinary in the cut.
fn section(told: &Told, dig: &Dig) -> Vec<Remark> {
    let section = &dig.section;
    let mut parts = Vec::new();
    if section.bedding > Length::ZERO {
        let bedding = words::on_tape(told, section.bedding);
        parts.push(Remark::shared(format!("bedding {bedding}")));
    }
    if section.sides != Sides::Upright {
        parts.push(Remark::loud(format!(
            "SIDES {} ({} wide at grade); a competent person decides",
            section.sides.label(),
            words::on_tape(told, section.top_width)
        )));
    }
    if section.egress {
        let ways = section.ways_out.iter().map(|way| told.show(way.amount()));
        let ways = ways.collect::<Vec<_>>().join(", ");
        parts.push(Remark::loud(format!("WAY OUT at {ways}")));
    }
    parts
}

fn marker(told: &Told, marker: &Marker) -> String {
    format!(
        "{} at {} for {}",
        marker.kind.label(),
        words::on_tape(told, marker.cover),
        marker.marks
    )
}

/// Pits and the longest pull, where pipe is pulled in.
fn pull(told: &Told, dig: &Dig) -> Option<String> {
    let pull = dig.pull.as_ref()?;
    let radius = told.show(pull.least_radius.amount());
    let bends = format!("bends not under {radius} radius");
    Some(match pull.pits.len() {
        0 => bends,
        pits => format!("{}; {bends}", crate::told::many(pits, "pit", "pits")),
    })
}
