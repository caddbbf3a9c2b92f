//! A plan as tables of shapes: what a drawing program or a geographic information system is given.
//!
//! A [`Layer`] is a table whose rows each have a shape in the plane of the job, metres. Formats take layers as
//! they are: tables of a GeoPackage, features of a GeoJSON, layers of a DXF. Works out nothing of the trade and
//! does no I/O; the same job and plan give the same layers.

mod crossings;
mod measure;
mod outlets;
mod pipes;
mod stakes;
mod stretches;
#[cfg(test)]
mod tests;
pub mod words;

use geo::{LineString, Point, Polygon};
use job::Job;
pub use measure::{bare, head, on_tape};
use plan::Plan;
use quantity::Units;
pub use stakes::station;

/// The layers of a plan, in the units of its reader.
pub fn of(job: &Job, plan: &Plan, units: Units) -> Vec<Layer> {
    vec![
        stretches::layer(job, plan, units),
        pipes::layer(plan, units),
        crossings::layer(job, plan, units),
        outlets::layer(job, plan, units),
        stakes(job, plan, units),
    ]
}

/// The points to mark on the ground alone.
pub fn stakes(job: &Job, plan: &Plan, units: Units) -> Layer {
    stakes::layer(job, plan, units)
}

/// A table whose rows have shapes of one sort.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Its name: letters a to z, digits and `_`, unique among the layers of a plan.
    pub name: String,
    /// What it shows, in words.
    pub title: String,
    /// The sort of its shapes.
    pub sort: Sort,
    /// Its columns, without the shape and the id.
    pub columns: Vec<Column>,
    /// Its rows.
    pub rows: Vec<Row>,
}

/// The sort of shape in a layer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// Points.
    Point,
    /// Lines.
    Line,
    /// Areas.
    Area,
}

/// A column of a layer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name, with the unit where it has one, such as `depth_in`.
    pub name: String,
    /// What stands in it.
    pub holds: Holds,
}

/// What stands in a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// Texts.
    Text,
    /// Whole numbers.
    Whole,
    /// Numbers.
    Real,
    /// Yes or no.
    Flag,
}

/// A row of a layer.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// What it is called in the plan, such as `S12`; unique in its layer.
    pub id: String,
    /// Where it lies, metres in the plane of the job.
    pub shape: Shape,
    /// As many as there are columns.
    pub cells: Vec<Cell>,
}

/// Where a row lies.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// At a point.
    Point(Point),
    /// Along a line.
    Line(LineString),
    /// Over an area.
    Area(Polygon),
}

/// A value of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// A text.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number.
    Real(f64),
    /// Yes or no.
    Flag(bool),
}
