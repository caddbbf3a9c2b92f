//! Where trenches cross buried services.

use crate::measure::{cell, column, text, words};
use crate::{Layer, Row, Shape, Sort};
use geo::Coord;
use job::Job;
use plan::Plan;
use quantity::{Style, Units};

pub(crate) fn layer(job: &Job, plan: &Plan, units: Units) -> Layer {
    let mut columns = ["utility", "service", "stretch"].map(words).to_vec();
    columns.push(column("angle", Style::Angle, units));
    let rows = plan
        .network
        .crossings
        .iter()
        .zip(1..)
        .map(|(crossing, number)| {
            let mut utilities = job.survey.utilities.iter();
            let utility = utilities.find(|utility| utility.id == crossing.utility);
            Row {
                id: format!("X{number}"),
                shape: Shape::Point(Coord::from(crossing.at).into()),
                cells: vec![
                    text(crossing.utility.as_str()),
                    text(utility.map_or("", |utility| utility.class.label())),
                    text(crossing.stretch.to_string()),
                    cell(crossing.angle.si(), Style::Angle, units),
                ],
            }
        });
    Layer {
        name: "plan_crossing".to_owned(),
        title: "Crossings of buried services".to_owned(),
        sort: Sort::Point,
        rows: rows.collect(),
        columns,
    }
}
