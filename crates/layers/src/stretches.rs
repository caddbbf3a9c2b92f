//! Stretches of trench with how each is put in.

use crate::measure::{cell, column, text, words as column_of_words};
use crate::{Layer, Row, Shape, Sort, words};
use job::Job;
use plan::Plan;
use quantity::{Style, Units};
use std::collections::BTreeMap;

const WORDS: [&str; 11] = [
    "method",
    "how",
    "reason",
    "from",
    "to",
    "holds",
    "surface",
    "soil",
    "hand_dig_zones",
    "sleeve",
    "depth_rule",
];

const MEASURES: [(&str, Style); 6] = [
    ("length", Style::Length),
    ("depth", Style::SmallLength),
    ("width", Style::SmallLength),
    ("crown", Style::SmallLength),
    ("time", Style::Hours),
    ("cost", Style::Money),
];

pub(crate) fn layer(job: &Job, plan: &Plan, units: Units) -> Layer {
    let mut columns: Vec<_> = WORDS.map(column_of_words).to_vec();
    columns.extend(MEASURES.map(|(name, style)| match style {
        // Money has no unit of its own, but a currency.
        Style::Money => crate::Column {
            name: format!("{name}_{}", plan.price.currency.to_lowercase()),
            holds: crate::Holds::Real,
        },
        style => column(name, style, units),
    }));
    let digs: BTreeMap<_, _> = plan
        .digging
        .digs
        .iter()
        .map(|dig| (dig.stretch, dig))
        .collect();
    let rows = plan.network.iter().filter_map(|(id, stretch)| {
        let dig = digs.get(&id)?;
        let mut cells: Vec<_> = [
            dig.method.to_string(),
            words::method(job, &dig.method),
            dig.reason.clone(),
            words::node(job, plan, stretch.from),
            words::node(job, plan, stretch.to),
            words::contents(dig),
            stretch.ground.surface.label().to_owned(),
            stretch.ground.soil.texture.label().to_owned(),
            words::zones(stretch),
            words::sleeve(stretch),
            dig.section.depth_rule.clone(),
        ]
        .into_iter()
        .map(text)
        .collect();
        let measures = [
            stretch.length.si(),
            dig.section.depth.si(),
            dig.section.width.si(),
            dig.earth.crown.si(),
            dig.hours.si(),
            dig.cost.amount().value,
        ];
        cells.extend(
            MEASURES
                .iter()
                .zip(measures)
                .map(|(&(_, style), si)| cell(si, style, units)),
        );
        let path = stretch.path.iter().map(|&place| geo::Coord::from(place));
        Some(Row {
            id: id.to_string(),
            shape: Shape::Line(path.collect()),
            cells,
        })
    });
    Layer {
        name: "plan_stretch".to_owned(),
        title: "Stretches of trench".to_owned(),
        sort: Sort::Line,
        rows: rows.collect(),
        columns,
    }
}
