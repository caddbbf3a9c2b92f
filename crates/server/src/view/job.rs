//! The job as it stands in the file.

use ::job::{Document, Finding, Job, LengthUnit, Severity};
use ::plan::Plan;
use quantity::Units;
use serde::Serialize;
use serde_json::{Map, Value};
use std::collections::BTreeMap;
use store::Picture;
use utoipa::ToSchema;

use super::{PlaceView, Plane};

/// The job as it stands in the file.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct JobView {
    /// Number of the newest change.
    pub version: i64,
    /// The file's name, without its folder.
    pub file: String,
    /// What concerns the job as a whole: `spadework` of the job file.
    #[schema(value_type = std::collections::HashMap<String, Value>)]
    pub header: Map<String, Value>,
    /// Unit of the coordinates.
    pub length_unit: &'static str,
    /// Units in which figures are read: `us` or `si`.
    pub units: &'static str,
    /// The features of the job file, as GeoJSON.
    #[schema(value_type = Vec<Value>)]
    pub features: Vec<Value>,
    /// What stands against the job as it is now.
    pub findings: Vec<FindingView>,
    /// Words for the change that would be taken back.
    #[schema(required)]
    pub undo: Option<String>,
    /// Words for the change that would be made again.
    #[schema(required)]
    pub redo: Option<String>,
    /// Pictures to draw over.
    pub pictures: Vec<PictureView>,
}

/// A picture to draw over.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PictureView {
    /// What it is called.
    pub name: String,
    /// Least x and y, greatest x and y.
    #[schema(value_type = Vec<f64>)]
    pub bounds: [f64; 4],
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
}

impl From<&Picture> for PictureView {
    fn from(picture: &Picture) -> Self {
        Self {
            name: picture.name.clone(),
            bounds: picture.bounds,
            width: picture.width,
            height: picture.height,
        }
    }
}

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Weight {
    /// There is no plan before it is mended.
    Error,
    /// It wants attention.
    Warning,
    /// What is usual to be said.
    Caution,
}

/// Something that stands against the job or its plan.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct FindingView {
    /// How much it weighs.
    pub severity: Weight,
    /// The rule's name.
    pub rule: String,
    /// The feature, stretch or value that it is about.
    pub subject: String,
    /// What is wrong.
    pub what: String,
    /// How to mend it.
    pub mend: String,
    /// Where it is, if it is about something that has a place.
    #[schema(required)]
    pub at: Option<PlaceView>,
}

/// What a finding is about, as the page names it: a rule or a price by the words under which it is listed there.
fn subject(subject: &str) -> String {
    for (part, word) in [("practice ", "Rule"), ("prices ", "Price")] {
        if let Some(path) = subject.strip_prefix(part) {
            return format!("{word} {}", path.replace('_', " ").replace('.', " › "));
        }
    }
    subject.to_owned()
}

/// A finding without a place.
pub fn finding(finding: &Finding) -> FindingView {
    FindingView {
        severity: match finding.severity {
            Severity::Error => Weight::Error,
            Severity::Warning => Weight::Warning,
            Severity::Caution => Weight::Caution,
        },
        rule: finding.rule.clone(),
        subject: subject(&finding.subject),
        what: finding.what.clone(),
        mend: finding.mend.clone(),
        at: None,
    }
}

/// Findings with the places of what they are about.
pub fn findings(found: &[Finding], document: &Document, plan: Option<&Plan>) -> Vec<FindingView> {
    let subjects: BTreeMap<&str, &Value> = document
        .features
        .iter()
        .filter_map(|feature| Some((feature["id"].as_str()?, feature)))
        .collect();
    let plane = Plane::of(document.length_unit().unwrap_or(LengthUnit::M));
    let of_stretch = |subject: &str| {
        let mut stretches = plan?.network.iter();
        let (_, stretch) = stretches.find(|(id, _)| id.to_string() == subject)?;
        let middle = stretch.path.get(stretch.path.len() / 2)?;
        Some(plane.place(*middle))
    };
    let placed = found.iter().map(|one| {
        let subject = one.subject.as_str();
        let at = subjects
            .get(subject)
            .and_then(|feature| first_place(&feature["geometry"]["coordinates"]));
        FindingView {
            at: at.or_else(|| of_stretch(subject)),
            ..finding(one)
        }
    });
    placed.collect()
}

/// The first place of coordinates, however deep they lie.
fn first_place(coordinates: &Value) -> Option<PlaceView> {
    let list = coordinates.as_array()?;
    match (list.first()?, list.get(1)) {
        (Value::Number(x), Some(Value::Number(y))) => Some(PlaceView([x.as_f64()?, y.as_f64()?])),
        (inner, _) => first_place(inner),
    }
}

/// What of the view the document alone does not say.
pub struct Around<'a> {
    pub version: i64,
    pub file: &'a str,
    pub findings: Vec<FindingView>,
    pub undo: Option<String>,
    pub redo: Option<String>,
    pub pictures: Vec<PictureView>,
}

/// The job as it stands in the file.
pub fn job_view(document: &Document, job: Option<&Job>, around: Around<'_>) -> JobView {
    let units = job.map_or_else(|| units_of(document), |job| job.units);
    JobView {
        version: around.version,
        file: around.file.to_owned(),
        header: document.header.clone(),
        length_unit: document.length_unit().unwrap_or(LengthUnit::M).name(),
        units: match units {
            Units::Us => "us",
            Units::Si => "si",
        },
        features: document.features.clone(),
        findings: around.findings,
        undo: around.undo,
        redo: around.redo,
        pictures: around.pictures,
    }
}

/// The units in which a job is read, also while it cannot be read as a whole.
pub fn units_of(document: &Document) -> Units {
    match document.header.get("display").and_then(Value::as_str) {
        Some("us") => Units::Us,
        _ => Units::Si,
    }
}
