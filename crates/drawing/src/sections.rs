//! The cross-section of every kind of cut, each drawn once to a true scale.
//!
//! Stretches are of one kind if their cut has the same measures to the millimetre and the same things
//! lie in it in the same places; how many wires run along and which circuit a lateral belongs to makes
//! no other kind. The stretch with the most wires is drawn.

mod draw;
#[cfg(test)]
mod tests;
mod told;

use crate::picture::Picture;
use crate::style;
use job::Job;
use job::prices::MethodKind;
use plan::Plan;
use plan::digging::{Content, Dig};
use plan::routes::{LineKind, StretchId};
use quantity::{Length, Units};

/// A kind of cut.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionKind {
    /// `1`, `2`, … in the order in which the stretches are listed.
    pub name: String,
    /// The stretches that have it.
    pub stretches: Vec<StretchId>,
    /// Method, depth and width, in words.
    pub words: String,
    /// The drawing.
    pub picture: Picture,
}

/// Every kind of cut with its drawing.
pub fn sections(job: &Job, plan: &Plan, units: Units) -> Vec<SectionKind> {
    let mut kinds: Vec<(Key, Vec<&Dig>)> = Vec::new();
    for dig in &plan.digging.digs {
        let key = Key::of(plan, dig);
        match kinds.iter_mut().find(|(known, _)| *known == key) {
            Some((_, digs)) => digs.push(dig),
            None => kinds.push((key, vec![dig])),
        }
    }
    (1..)
        .zip(kinds)
        .filter_map(|(number, (_, digs)): (u32, _)| {
            let drawn = *digs
                .iter()
                .max_by_key(|dig| (things(dig), std::cmp::Reverse(dig.stretch)))?;
            Some(SectionKind {
                name: number.to_string(),
                stretches: digs.iter().map(|dig| dig.stretch).collect(),
                words: words(job, drawn, units),
                picture: draw::section(job, plan, drawn, units),
            })
        })
        .collect()
}

/// How many things lie in a cut.
fn things(dig: &Dig) -> u32 {
    dig.section
        .contents
        .iter()
        .map(|content| content.count)
        .sum()
}

fn words(job: &Job, dig: &Dig, units: Units) -> String {
    let section = &dig.section;
    let method = style::method_label(job, &dig.method);
    let depth = on_tape(section.depth, units);
    if section.width <= Length::ZERO {
        return format!("{method}, {depth} deep");
    }
    let width = on_tape(section.width, units);
    format!("{method}, {depth} deep, {width} wide")
}

/// As one sets it on a tape, with its unit.
fn on_tape(length: Length, units: Units) -> String {
    let unit = length.small().parts(units).1;
    format!("{} {unit}", layers::on_tape(length, units))
}

/// What makes two cuts one kind; lengths in whole millimetres.
#[derive(Debug, PartialEq)]
struct Key {
    method: String,
    sleeve: bool,
    measures: Vec<i64>,
    contents: Vec<(String, i64, i64)>,
    markers: Vec<(&'static str, i64)>,
}

fn mm(length: Length) -> i64 {
    length.to_mm().round() as i64
}

impl Key {
    fn of(plan: &Plan, dig: &Dig) -> Self {
        let section = &dig.section;
        let content =
            |content: &Content| (what(plan, content), mm(content.outside), mm(content.cover));
        Self {
            method: dig.method.to_string(),
            sleeve: plan.network.stretch(dig.stretch).sleeve.is_some(),
            measures: vec![
                mm(section.depth),
                mm(section.width),
                mm(section.top_width),
                mm(section.bedding),
                i64::from(section.benches),
                section.sides as i64,
                mm(dig.fill.lift),
            ],
            contents: section.contents.iter().map(content).collect(),
            markers: section
                .markers
                .iter()
                .map(|m| (m.kind.label(), mm(m.cover)))
                .collect(),
        }
    }
}

/// What a thing in a trench is, without the circuit that it serves or how many wires it is.
fn what(plan: &Plan, content: &Content) -> String {
    let Some(line) = plan.network.lines.get(content.line) else {
        return content.what.clone();
    };
    match line.kind {
        LineKind::Lateral(_) => match content.what.strip_prefix(&line.name) {
            Some(size) => format!("lateral{size}"),
            None => content.what.clone(),
        },
        LineKind::Wire => "valve wires".to_owned(),
        _ => content.what.clone(),
    }
}

/// Whether pipe is pulled in, so that no trench is opened.
fn is_pulled(job: &Job, dig: &Dig) -> bool {
    let method = job.prices.method.get(&dig.method);
    method.is_some_and(|method| method.kind == MethodKind::Pull)
}
