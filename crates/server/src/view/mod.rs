//! What the page is told: the job, its plan, and all figures in the units in which they are read.
//!
//! Nothing is computed here. Places are in the plane and the length unit of the job.

mod days;
mod figures;
mod job;
mod kinds;
mod money;
mod network;
mod plan;
mod settings;
mod totals;
mod water;
mod working;

pub use days::{AheadView, DayView, TaskView};
pub use figures::Fig;
pub use job::{Around, FindingView, JobView, PictureView, finding, findings, job_view, units_of};
pub use kinds::{KindView, PropertyType, kinds};
pub use money::{MaterialView, MoneyView, RiskView};
pub use network::{CrossingView, MethodView, NarrowView, RootsView, StretchView};
pub use plan::{PlanView, Quality, plan_view};
pub use settings::{SettingView, settings};
pub use totals::{Against, Kept, Total, kept, of_variant};
pub use water::{CircuitView, OutletView, PipeView, ValveView};
pub use working::{WorkingView, working};

use ::job::LengthUnit;
use serde::Serialize;
use std::borrow::Cow;
use utoipa::openapi::schema::ArrayItems;
use utoipa::openapi::{ArrayBuilder, ObjectBuilder, RefOr, Schema, Type};
use utoipa::{PartialSchema, ToSchema};

/// A place in the plane and the length unit of the job: x and y.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(transparent)]
pub struct PlaceView([f64; 2]);

impl PartialSchema for PlaceView {
    fn schema() -> RefOr<Schema> {
        let number = || ObjectBuilder::new().schema_type(Type::Number);
        ArrayBuilder::new()
            .prefix_items([number(), number()])
            .items(ArrayItems::False)
            .min_items(Some(2))
            .into()
    }
}

impl ToSchema for PlaceView {
    fn name() -> Cow<'static, str> {
        Cow::Borrowed("Place")
    }
}

/// Places as the page wants them.
#[derive(Debug, Clone, Copy)]
pub struct Plane {
    per_m: f64,
}

impl Plane {
    /// The plane of a job with coordinates in a unit.
    pub fn of(unit: LengthUnit) -> Self {
        Self {
            per_m: 1.0 / unit.to_m(),
        }
    }

    fn place(self, place: ::job::Place) -> PlaceView {
        // A thousandth of the unit is finer than any trench is dug.
        let rounded = |m: f64| (m * self.per_m * 10_000.0).round() / 10_000.0;
        PlaceView([rounded(place.x), rounded(place.y)])
    }

    fn length(self, length: quantity::Length) -> f64 {
        length.si() * self.per_m
    }

    fn path(self, path: &[::job::Place]) -> Vec<PlaceView> {
        path.iter().map(|&place| self.place(place)).collect()
    }
}
