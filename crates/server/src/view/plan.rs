//! The plan as the page draws it.

use ::job::{Document, Job, LengthUnit};
use ::plan::Plan;
use serde::Serialize;
use utoipa::ToSchema;

use super::figures::Reader;
use super::{
    Against, AheadView, CircuitView, CrossingView, DayView, FindingView, Kept, MaterialView,
    MethodView, MoneyView, NarrowView, OutletView, PipeView, Plane, RiskView, RootsView,
    StretchView, TaskView, Total, ValveView, days, findings, kept, money, network, totals, water,
};

/// How much of the work a plan has behind it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Quality {
    /// Re-routed from the plan before with its machines: no bound, no trials of the ground, days not searched.
    Draft,
    /// Made from nothing.
    Full,
}

/// The plan as the page draws it.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PlanView {
    /// The version of the job that it is a plan of.
    pub version: i64,
    /// How much of the work it has behind it.
    pub quality: Quality,
    /// The figures by which plans are compared, the weightiest first.
    pub totals: Vec<Total>,
    /// The same against the variant that was kept last.
    #[schema(required)]
    pub against: Option<Against>,
    /// Methods.
    pub methods: Vec<MethodView>,
    /// Stretches of trench.
    pub stretches: Vec<StretchView>,
    /// Pipes.
    pub pipes: Vec<PipeView>,
    /// Heads.
    pub outlets: Vec<OutletView>,
    /// Circuits.
    pub circuits: Vec<CircuitView>,
    /// Valves, those that the plan has proposed too.
    pub valves: Vec<ValveView>,
    /// Where trenches meet services of others.
    pub crossings: Vec<CrossingView>,
    /// Gaps too narrow for some machine.
    pub narrows: Vec<NarrowView>,
    /// How far roots are protected.
    pub roots: Vec<RootsView>,
    /// Working days.
    pub days: Vec<DayView>,
    /// Tasks.
    pub tasks: Vec<TaskView>,
    /// What comes before the first day on site.
    pub ahead: Vec<AheadView>,
    /// Cost and price.
    pub money: MoneyView,
    /// Material.
    pub materials: Vec<MaterialView>,
    /// How far cost and days may be off; nothing in a draft.
    #[schema(required)]
    pub risk: Option<RiskView>,
    /// Warnings and cautions.
    pub findings: Vec<FindingView>,
}

/// The plan as the page draws it; `job` as it was planned.
pub fn plan_view(
    document: &Document,
    job: &Job,
    plan: &Plan,
    (version, quality): (i64, Quality),
    variant: Option<(&str, &[Kept])>,
) -> PlanView {
    let plane = Plane::of(document.length_unit().unwrap_or(LengthUnit::M));
    let reader = Reader {
        units: job.units,
        plan,
    };
    let kept = kept(plan);
    PlanView {
        version,
        quality,
        totals: totals::totals(&kept, reader),
        against: variant.map(|(name, then)| totals::against(name, &kept, then, reader)),
        methods: network::methods(job, reader),
        stretches: network::stretches(job, plane, reader),
        pipes: water::pipes(plane, reader),
        outlets: water::outlets(job, plane, reader),
        circuits: water::circuits(job, reader),
        valves: water::valves(job, plane, reader),
        crossings: network::crossings(plane, reader),
        narrows: network::narrows(job, plane, reader),
        roots: network::roots(job, plane),
        days: days::days(job, reader),
        tasks: days::tasks(job, reader),
        ahead: days::ahead(reader),
        money: money::money(reader),
        materials: money::materials(reader),
        risk: match quality {
            Quality::Draft => None,
            Quality::Full => money::risk(reader),
        },
        findings: findings(&plan.findings, document, Some(plan)),
    }
}
