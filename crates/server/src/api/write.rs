//! Requests that change the job. Each is answered once the change is in the file.

#![allow(
    unused_qualifications,
    reason = "written by the macro that describes requests"
)]

use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{Op, Sent, Shared};
use crate::problem::{NotThere, Problem, Refused};
use crate::serving::off_thread;

/// A change.
#[derive(Debug, Deserialize, ToSchema)]
pub struct Edit {
    /// In words, such as "Moved head H3".
    label: String,
    /// The page that makes it.
    tab: String,
    /// Its steps; all are carried out, or none.
    ops: Vec<Op>,
    /// Changes of one gesture, such as a drag, that follow each other are taken back together.
    #[serde(default)]
    gesture: Option<String>,
}

/// What came of a change.
#[derive(Debug, Serialize, ToSchema)]
pub struct Edited {
    /// Its number.
    pub version: i64,
}

/// The page that asks.
#[derive(Debug, Deserialize, ToSchema)]
pub struct Tab {
    tab: String,
}

/// A version to go back to.
#[derive(Debug, Deserialize, ToSchema)]
pub struct Return {
    tab: String,
    version: i64,
}

/// A variant, or a picture.
#[derive(Debug, Deserialize, ToSchema)]
pub struct Named {
    pub(super) name: String,
}

/// A variant to open.
#[derive(Debug, Deserialize, ToSchema)]
pub struct NamedByTab {
    tab: String,
    name: String,
}

/// Nothing but that it was done.
#[derive(Debug, Serialize, ToSchema)]
pub struct Carried {
    done: bool,
}

pub(super) const DONE: Carried = Carried { done: true };

/// Puts a change into the file.
#[utoipa::path(post, path = "/edits", request_body = Edit, responses(
    (status = 200, body = Edited),
    Refused,
))]
pub async fn edits(
    State(desk): State<Shared>,
    Sent(edit): Sent<Edit>,
) -> Result<Json<Edited>, Problem> {
    let steps = edit.ops.into_iter().map(Into::into).collect();
    off_thread(move || desk.edit(&edit.label, (&edit.tab, edit.gesture.as_deref()), steps))
        .await
        .map(edited)
}

fn edited(version: i64) -> Json<Edited> {
    Json(Edited { version })
}

/// Takes the newest change back.
#[utoipa::path(post, path = "/undo", request_body = Tab, responses(
    (status = 200, body = Edited),
    Refused,
))]
pub async fn undo(
    State(desk): State<Shared>,
    Sent(by): Sent<Tab>,
) -> Result<Json<Edited>, Problem> {
    off_thread(move || desk.undo(&by.tab)).await.map(edited)
}

/// Makes the change again that was taken back last.
#[utoipa::path(post, path = "/redo", request_body = Tab, responses(
    (status = 200, body = Edited),
    Refused,
))]
pub async fn redo(
    State(desk): State<Shared>,
    Sent(by): Sent<Tab>,
) -> Result<Json<Edited>, Problem> {
    off_thread(move || desk.redo(&by.tab)).await.map(edited)
}

/// Brings the job back to what it was at a version, as a change of its own.
#[utoipa::path(post, path = "/return", request_body = Return, responses(
    (status = 200, body = Edited),
    Refused,
    NotThere,
))]
pub async fn return_to(
    State(desk): State<Shared>,
    Sent(to): Sent<Return>,
) -> Result<Json<Edited>, Problem> {
    off_thread(move || desk.return_to(to.version, &to.tab))
        .await
        .map(edited)
}

/// Keeps the job as it is under a name, with what its plan comes to.
#[utoipa::path(post, path = "/variants", request_body = Named, responses(
    (status = 200, body = Carried),
    Refused,
))]
pub async fn keep(
    State(desk): State<Shared>,
    Sent(named): Sent<Named>,
) -> Result<Json<Carried>, Problem> {
    off_thread(move || desk.keep(&named.name)).await?;
    Ok(Json(DONE))
}

/// Brings the job to a variant, as a change of its own.
#[utoipa::path(post, path = "/variants/open", request_body = NamedByTab, responses(
    (status = 200, body = Edited),
    Refused,
    NotThere,
))]
pub async fn open_variant(
    State(desk): State<Shared>,
    Sent(named): Sent<NamedByTab>,
) -> Result<Json<Edited>, Problem> {
    off_thread(move || desk.open_variant(&named.name, &named.tab))
        .await
        .map(edited)
}

/// Forgets a variant; the versions that led to it stay in the history.
#[utoipa::path(post, path = "/variants/drop", request_body = Named, responses(
    (status = 200, body = Carried),
    Refused,
    NotThere,
))]
pub async fn drop_variant(
    State(desk): State<Shared>,
    Sent(named): Sent<Named>,
) -> Result<Json<Carried>, Problem> {
    off_thread(move || desk.drop_variant(&named.name)).await?;
    Ok(Json(DONE))
}
