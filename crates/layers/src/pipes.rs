//! Pipes: one row for each pipe in each stretch.

use crate::measure::{cell, column, text, words};
use crate::{Layer, Row, Shape, Sort};
use plan::Plan;
use quantity::{Style, Units};

const MEASURES: [(&str, Style); 5] = [
    ("length", Style::Length),
    ("inside", Style::SmallLength),
    ("flow", Style::Flow),
    ("velocity", Style::Velocity),
    ("friction", Style::Pressure),
];

pub(crate) fn layer(plan: &Plan, units: Units) -> Layer {
    let mut columns = ["line", "stretch", "family", "size"].map(words).to_vec();
    columns.extend(MEASURES.map(|(name, style)| column(name, style, units)));
    let rows = plan.hydraulics.pipes.iter().map(|pipe| {
        let stretch = plan.network.stretch(pipe.stretch);
        let line = &plan.network.lines[pipe.line].name;
        let words = [
            line.clone(),
            pipe.stretch.to_string(),
            pipe.family.clone(),
            pipe.size.clone(),
        ];
        let measures = [
            stretch.length.si(),
            pipe.inside.si(),
            pipe.flow.si(),
            pipe.velocity.si(),
            pipe.friction.si(),
        ];
        let measures = MEASURES.iter().zip(measures);
        let path = stretch.path.iter().map(|&place| geo::Coord::from(place));
        Row {
            id: format!("{} in {}", line, pipe.stretch),
            shape: Shape::Line(path.collect()),
            cells: words
                .into_iter()
                .map(text)
                .chain(measures.map(|(&(_, style), si)| cell(si, style, units)))
                .collect(),
        }
    });
    Layer {
        name: "plan_pipe".to_owned(),
        title: "Pipes".to_owned(),
        sort: Sort::Line,
        rows: rows.collect(),
        columns,
    }
}
