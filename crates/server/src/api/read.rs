//! Requests that change nothing.

#![allow(
    unused_qualifications,
    reason = "written by the macro that describes requests"
)]

use axum::Json;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::sse::{self, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::{Stream, StreamExt};
use serde::{Deserialize, Serialize};
use std::convert::Infallible;
use tokio_stream::wrappers::BroadcastStream;
use utoipa::{IntoParams, ToSchema};

use super::Shared;
use super::extract::Asked;
use crate::event::Unplanned;
use crate::problem::Problem;
use crate::serving::off_thread;
use crate::view::{JobView, KindView, PlanView, SettingView, Total, WorkingView};

/// The job as it stands in the file.
#[utoipa::path(get, path = "/job", responses((status = 200, body = JobView), (status = 500, body = Problem)))]
pub async fn job(State(desk): State<Shared>) -> Result<Json<JobView>, Problem> {
    off_thread(move || desk.job()).await.map(Json)
}

/// What can be drawn.
#[utoipa::path(get, path = "/kinds", responses((status = 200, body = Vec<KindView>)))]
pub async fn kinds(State(desk): State<Shared>) -> Json<Vec<KindView>> {
    Json(desk.kinds())
}

/// Rules and prices.
#[utoipa::path(get, path = "/settings", responses((status = 200, body = Vec<SettingView>)))]
pub async fn settings(State(desk): State<Shared>) -> Json<Vec<SettingView>> {
    Json(desk.settings())
}

/// The newest plan.
#[utoipa::path(get, path = "/plan", responses(
    (status = 200, body = PlanView),
    (status = 204, description = "There is no plan yet"),
))]
pub async fn plan(State(desk): State<Shared>) -> Response {
    match desk.plan() {
        Some(text) => ([(header::CONTENT_TYPE, "application/json")], text).into_response(),
        None => StatusCode::NO_CONTENT.into_response(),
    }
}

/// Why the newest version has no plan.
#[utoipa::path(get, path = "/unplanned", responses(
    (status = 200, body = Unplanned),
    (status = 204, description = "It has one, or it is being planned"),
))]
pub async fn unplanned(State(desk): State<Shared>) -> Response {
    match desk.unplanned() {
        Some(unplanned) => Json(unplanned).into_response(),
        None => StatusCode::NO_CONTENT.into_response(),
    }
}

/// Which figure.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct WhichFigure {
    /// Its id.
    figure: String,
}

/// How a figure of the newest plan came about.
#[utoipa::path(get, path = "/working", params(WhichFigure), responses(
    (status = 200, body = WorkingView),
    (status = 400, body = Problem),
    (status = 404, body = Problem),
))]
pub async fn working(
    State(desk): State<Shared>,
    Asked(which): Asked<WhichFigure>,
) -> Result<Json<WorkingView>, Problem> {
    // Those of a draft are made only now.
    off_thread(move || desk.working(&which.figure))
        .await
        .map(Json)
}

/// Which lines of the history.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct WhichLines {
    /// Those before this version; without it, the newest.
    before: Option<i64>,
    /// How many at most.
    #[param(minimum = 1, maximum = 500)]
    limit: Option<usize>,
}

/// A line of the history.
#[derive(Debug, Serialize, ToSchema)]
pub struct HistoryEntry {
    /// Its number.
    version: i64,
    /// In words.
    label: String,
    /// When, in coordinated universal time (ISO 8601).
    at: String,
    /// `edit`, `undo`, `redo`, `return` or `found`.
    kind: String,
}

/// The history, newest first.
#[utoipa::path(get, path = "/history", params(WhichLines), responses(
    (status = 200, body = Vec<HistoryEntry>),
    (status = 400, body = Problem),
    (status = 500, body = Problem),
))]
pub async fn history(
    State(desk): State<Shared>,
    Asked(which): Asked<WhichLines>,
) -> Result<Json<Vec<HistoryEntry>>, Problem> {
    let before = which.before.unwrap_or(i64::MAX);
    let most = which.limit.unwrap_or(100).clamp(1, 500);
    let lines = off_thread(move || desk.history(before, most)).await?;
    let entries = lines.into_iter().map(|line| HistoryEntry {
        version: line.version,
        label: line.label,
        at: line.at,
        kind: line.sort.name().to_owned(),
    });
    Ok(Json(entries.collect()))
}

/// A variant that was kept.
#[derive(Debug, Serialize, ToSchema)]
pub struct VariantView {
    /// Its name.
    name: String,
    /// The version of the job that it is.
    version: i64,
    /// When it was kept.
    at: String,
    /// What its plan came to.
    totals: Vec<Total>,
}

/// Variants, in the order in which they were kept.
#[utoipa::path(get, path = "/variants", responses(
    (status = 200, body = Vec<VariantView>),
    (status = 500, body = Problem),
))]
pub async fn variants(State(desk): State<Shared>) -> Result<Json<Vec<VariantView>>, Problem> {
    let variants = off_thread(move || desk.variants()).await?;
    let views = variants.into_iter().map(|(variant, totals)| VariantView {
        name: variant.name,
        version: variant.version,
        at: variant.at,
        totals,
    });
    Ok(Json(views.collect()))
}

/// What happens, as it happens: `changed`, `planning`, `planned` with the plan, `unplanned`, and `reload` for a page that
/// has missed something.
#[utoipa::path(get, path = "/events", responses(
    (status = 200, content_type = "text/event-stream", body = String),
))]
pub async fn events(
    State(desk): State<Shared>,
) -> Sse<impl Stream<Item = Result<sse::Event, Infallible>>> {
    let heard = BroadcastStream::new(desk.listen());
    let events = heard.map(move |event| {
        let (name, text) = match event {
            Ok(event) => event.told(|| desk.plan()),
            // It lagged behind: what it missed is in the file.
            Err(_) => ("reload", "{}".to_owned()),
        };
        Ok(sse::Event::default().event(name).data(text))
    });
    Sse::new(events).keep_alive(KeepAlive::default())
}

/// The plan drawn to scale on a sheet, as it is printed.
#[utoipa::path(get, path = "/drawing", responses(
    (status = 200, content_type = "image/svg+xml", body = String),
    (status = 404, body = Problem),
))]
pub async fn drawing(State(desk): State<Shared>) -> Result<Response, Problem> {
    let none = || Problem::not_there("There is no plan yet", "wait until the job is planned");
    let done = desk.done().ok_or_else(none)?;
    let svg = off_thread(move || {
        let options = drawing::SvgOptions {
            units: done.job.units,
            sheet: None,
        };
        Ok(drawing::svg(&done.job, &done.plan, &options))
    });
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg.await?).into_response())
}
