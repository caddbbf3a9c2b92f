//! Heads and drip points with the pressure that they get.

use crate::measure::{cell, column, text, words};
use crate::{Layer, Row, Shape, Sort};
use geo::Coord;
use job::{Job, Outlet};
use plan::Plan;
use quantity::{Style, Units};
use std::collections::BTreeMap;

const MEASURES: [(&str, Style); 4] = [
    ("flow", Style::Flow),
    ("pressure", Style::Pressure),
    ("needs", Style::Pressure),
    ("to_spare", Style::Pressure),
];

pub(crate) fn layer(job: &Job, plan: &Plan, units: Units) -> Layer {
    let mut columns = vec![words("circuit")];
    columns.extend(MEASURES.map(|(name, style)| column(name, style, units)));
    let places: BTreeMap<&str, &Outlet> = job
        .system
        .outlets
        .iter()
        .map(|o| (o.id.as_str(), o))
        .collect();
    let rows = plan.hydraulics.outlets.iter().filter_map(|outlet| {
        let at = places.get(outlet.outlet.as_str())?.at;
        let measures = [
            outlet.flow.si(),
            outlet.pressure.si(),
            outlet.needs.si(),
            outlet.margin.si(),
        ];
        let measures = MEASURES.iter().zip(measures);
        let mut cells = vec![text(outlet.circuit.as_str())];
        cells.extend(measures.map(|(&(_, style), si)| cell(si, style, units)));
        Some(Row {
            id: outlet.outlet.clone(),
            shape: Shape::Point(Coord::from(at).into()),
            cells,
        })
    });
    Layer {
        name: "plan_outlet".to_owned(),
        title: "Heads and drip points with the pressure that they get".to_owned(),
        sort: Sort::Point,
        rows: rows.collect(),
        columns,
    }
}
