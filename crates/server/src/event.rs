//! What every open page is told as it happens.

use axum::body::Bytes;
use job::Step;
use serde::Serialize;
use utoipa::ToSchema;

use crate::view::FindingView;

/// A change that is in the file.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Changed {
    /// Its number.
    pub version: i64,
    /// In words.
    pub label: String,
    /// The page that made it.
    pub tab: String,
    /// `edit`, `undo`, `redo`, `return` or `found`.
    pub kind: String,
    /// What was done.
    #[schema(value_type = Vec<crate::api::Op>)]
    pub ops: Vec<Step>,
    /// What stands against the job now.
    pub findings: Vec<FindingView>,
    /// Words for the change that would be taken back.
    #[schema(required)]
    pub undo: Option<String>,
    /// Words for the change that would be made again.
    #[schema(required)]
    pub redo: Option<String>,
}

/// What is going on about the plan; no words when it is at rest.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Planning {
    /// The version that is planned.
    pub version: i64,
    /// In words.
    pub words: String,
}

/// No plan can be made.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Unplanned {
    /// The version that cannot be planned.
    pub version: i64,
    /// Why.
    pub findings: Vec<FindingView>,
}

/// An event with its name.
#[derive(Debug, Clone)]
pub enum Event {
    /// The file has changed.
    Changed(Changed),
    /// The plan is worked at.
    Planning(Planning),
    /// There is a new plan: a page is told the newest one as it stands when its turn comes.
    Planned,
    /// No plan can be made.
    Unplanned(Unplanned),
    /// Variants or pictures have changed: look again.
    Looked,
}

impl Event {
    /// Its name and its text; `plan` is the newest one.
    pub fn told(&self, plan: impl FnOnce() -> Option<Bytes>) -> (&'static str, String) {
        // What is told is plain data, which can always be written.
        let text = |value: serde_json::Result<String>| value.unwrap_or_default();
        match self {
            Self::Changed(event) => ("changed", text(serde_json::to_string(event))),
            Self::Planning(event) => ("planning", text(serde_json::to_string(event))),
            Self::Planned => match plan().map(|text| String::from_utf8(text.into())) {
                Some(Ok(text)) => ("planned", text),
                _ => ("reload", "{}".to_owned()),
            },
            Self::Unplanned(event) => ("unplanned", text(serde_json::to_string(event))),
            Self::Looked => ("reload", "{}".to_owned()),
        }
    }
}
