//! What a refused request is told.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use job::Finding;
use serde::Serialize;
use sheets::SheetError;
use store::StoreError;
use utoipa::{IntoResponses, ToSchema};

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

/// How any request that changes something can be refused.
#[derive(IntoResponses)]
#[expect(
    dead_code,
    reason = "describes the refusals; they are made as `Problem`"
)]
pub enum Refused {
    /// It cannot be read.
    #[response(status = 400)]
    Unread(Problem),
    /// It does not come from the page.
    #[response(status = 403)]
    Foreign(Problem),
    /// It is too large.
    #[response(status = 413)]
    TooLarge(Problem),
    /// It is of another form than asked for.
    #[response(status = 415)]
    OtherForm(Problem),
    /// It cannot be carried out.
    #[response(status = 422)]
    Impossible(Problem),
    /// The file cannot be read or written.
    #[response(status = 500)]
    File(Problem),
}

/// How a request that names something can be refused as well.
#[derive(IntoResponses)]
#[response(status = 404, description = "There is no such thing")]
pub struct NotThere(#[expect(dead_code, reason = "describes the answer")] Problem);

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

impl From<SheetError> for Problem {
    fn from(error: SheetError) -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            error.to_string(),
            "write the files with `spadework plan` and report what is told here",
        )
    }
}
