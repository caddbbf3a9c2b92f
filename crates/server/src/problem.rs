//! What a refused request is told.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use job::Finding;
use serde::Serialize;
use store::StoreError;
use utoipa::ToSchema;

use crate::view::{self, FindingView};

/// What a refused request is told: what is wrong, how to mend it, and the single findings if there are any.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Problem {
    #[serde(skip)]
    status: StatusCode,
    /// What is wrong.
    pub what: String,
    /// How to mend it.
    pub mend: String,
    /// Everything that was found.
    pub findings: Vec<FindingView>,
}

impl Problem {
    /// A request that cannot be carried out as it is.
    pub fn refused(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, what, mend)
    }

    /// Something that is asked for and is not there.
    pub fn not_there(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self::new(StatusCode::NOT_FOUND, what, mend)
    }

    /// Everything that stands against what was sent.
    pub fn findings(what: impl Into<String>, found: &[Finding]) -> Self {
        let mend = match found {
            [one] => one.mend.clone(),
            _ => "mend what is listed".to_owned(),
        };
        Self {
            findings: found.iter().map(view::finding).collect(),
            ..Self::refused(what, mend)
        }
    }

    /// A problem with a status of its own.
    pub fn new(status: StatusCode, what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            status,
            what: what.into(),
            mend: mend.into(),
            findings: Vec::new(),
        }
    }
}

impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            error.to_string(),
            error.mend(),
        )
    }
}

impl From<Finding> for Problem {
    fn from(finding: Finding) -> Self {
        Self::findings(finding.what.clone(), &[finding])
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        (self.status, Json(self)).into_response()
    }
}
