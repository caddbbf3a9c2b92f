//! The cross-section of every kind of cut, each drawn once to a true scale.
//!
//! Stretches are of one kind if they are cut in the same way to the same width, the same things lie in
//! them side by side in the same order, and their depths differ by no more than the drawing would show;
//! how many wires run along and which circuit a lateral belongs to makes no other kind. Of a kind the
//! stretch with the most in it is drawn, and the deepest of several.

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
    /// Method, depths and width, in words.
    pub words: String,
    /// The stretch that is drawn.
    pub drawn: StretchId,
    /// The drawing.
    pub picture: Picture,
}

/// Cuts as deep as this share of the deepest are drawn as it: on paper they differ by less than a tenth.
const AS_DEEP: f64 = 0.9;

/// Every kind of cut with its drawing.
pub fn sections(job: &Job, plan: &Plan, units: Units) -> Vec<SectionKind> {
    let mut alike: Vec<(Key, Vec<&Dig>)> = Vec::new();
    for dig in &plan.digging.digs {
        let key = Key::of(plan, dig);
        match alike.iter_mut().find(|(known, _)| *known == key) {
            Some((_, digs)) => digs.push(dig),
            None => alike.push((key, vec![dig])),
        }
    }
    let mut kinds: Vec<Vec<&Dig>> = Vec::new();
    for (_, digs) in alike {
        kinds.extend(by_depth(digs));
    }
    kinds.sort_by_key(|digs| digs.iter().map(|dig| dig.stretch).min());
    let drawn = kinds
        .into_iter()
        .filter_map(|digs| Some((most(&digs)?, digs)));
    (1..)
        .zip(drawn)
        .map(|(number, (drawn, mut digs)): (u32, _)| {
            digs.sort_by_key(|dig| dig.stretch);
            SectionKind {
                name: number.to_string(),
                stretches: digs.iter().map(|dig| dig.stretch).collect(),
                words: words(job, &digs, drawn, units),
                drawn: drawn.stretch,
                picture: draw::section(job, plan, drawn, units),
            }
        })
        .collect()
}

/// Cuts that are alike but for their depths, those nearly as deep together, the deepest first.
fn by_depth(mut digs: Vec<&Dig>) -> Vec<Vec<&Dig>> {
    digs.sort_by(|a, b| b.section.depth.total_cmp(&a.section.depth));
    let mut kinds: Vec<Vec<&Dig>> = Vec::new();
    for dig in digs {
        match kinds.last_mut() {
            Some(kind) if dig.section.depth >= kind[0].section.depth * AS_DEEP => kind.push(dig),
            _ => kinds.push(vec![dig]),
        }
    }
    kinds
}

/// The cut with the most in it, and of those the deepest, and then the first.
fn most<'a>(digs: &[&'a Dig]) -> Option<&'a Dig> {
    let order = |a: &&&Dig, b: &&&Dig| {
        let by_things = things(a).cmp(&things(b));
        let by_depth = a.section.depth.total_cmp(&b.section.depth);
        by_things.then(by_depth).then(b.stretch.cmp(&a.stretch))
    };
    digs.iter().max_by(order).copied()
}

/// How many things lie in a cut.
fn things(dig: &Dig) -> u32 {
    dig.section
        .contents
        .iter()
        .map(|content| content.count)
        .sum()
}

fn words(job: &Job, digs: &[&Dig], drawn: &Dig, units: Units) -> String {
    let method = style::method_label(job, &drawn.method);
    let depths = digs.iter().map(|dig| dig.section.depth);
    let least = depths.clone().fold(drawn.section.depth, Length::min);
    let most = depths.fold(drawn.section.depth, Length::max);
    let (least, most) = (on_tape(least, units), on_tape(most, units));
    let depth = match least == most {
        true => most,
        false => format!("{least} to {most}"),
    };
    let width = match drawn.section.width <= Length::ZERO {
        true => String::new(),
        false => format!(", {} wide", on_tape(drawn.section.width, units)),
    };
    let of = match digs.len() {
        1 => String::new(),
        _ => format!("; drawn: {}", drawn.stretch),
    };
    format!("{method}, {depth} deep{width}{of}")
}

/// As one sets it on a tape, with its unit.
fn on_tape(length: Length, units: Units) -> String {
    let unit = length.small().parts(units).1;
    format!("{} {unit}", layers::on_tape(length, units))
}

/// What two cuts of one kind have in common; lengths in whole millimetres.
#[derive(Debug, PartialEq)]
struct Key {
    method: String,
    sleeve: bool,
    protected: bool,
    egress: bool,
    lifts: u32,
    measures: Vec<i64>,
    contents: Vec<(String, i64)>,
    markers: Vec<&'static str>,
}

fn mm(length: Length) -> i64 {
    length.to_mm().round() as i64
}

impl Key {
    fn of(plan: &Plan, dig: &Dig) -> Self {
        let section = &dig.section;
        let content = |content: &Content| (what(plan, content), mm(content.outside));
        Self {
            method: dig.method.to_string(),
            sleeve: plan.network.stretch(dig.stretch).sleeve.is_some(),
            protected: section.protection,
            egress: section.egress,
            lifts: dig.earth.lifts,
            measures: vec![
                mm(section.width),
                mm(section.bedding),
                i64::from(section.benches),
                section.sides as i64,
            ],
            contents: section.contents.iter().map(content).collect(),
            markers: section.markers.iter().map(|m| m.kind.label()).collect(),
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
