//! The plan on paper.

#![allow(
    unused_qualifications,
    reason = "written by the macro that describes requests"
)]

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use sheets::{Sheet, SheetError, Wanted};
use std::sync::Arc;
use utoipa::IntoParams;

use super::Shared;
use super::extract::Asked;
use crate::planner::Done;
use crate::problem::{NotThere, Problem};
use crate::serving::off_thread;

/// Which sheets are printed.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Their names with commas between; all without it.
    #[serde(default)]
    only: String,
}

impl Which {
    fn sheets(&self) -> Result<Vec<Sheet>, Problem> {
        let names = self.only.split(',').map(str::trim);
        let named = names.filter(|name| !name.is_empty()).map(|name| {
            Sheet::named(name).ok_or_else(|| {
                let known: Vec<&str> = Sheet::ALL.into_iter().map(Sheet::name).collect();
                Problem::refused(
                    format!("There is no sheet \"{name}\""),
                    format!("use some of {}", known.join(", ")),
                )
            })
        });
        named.collect()
    }
}

/// The sheets for the crew, the inspector and the notification service as one PDF, of the newest whole plan.
#[utoipa::path(get, path = "/sheets", params(Which), responses(
    (status = 200, content_type = "application/pdf", body = String),
    (status = 400, body = Problem),
    (status = 422, body = Problem),
    (status = 500, body = Problem),
    NotThere,
))]
pub async fn sheets(
    State(desk): State<Shared>,
    Asked(which): Asked<Which>,
) -> Result<Response, Problem> {
    let only = which.sheets()?;
    printed(desk, "sheets", move |done| {
        let wanted = Wanted {
            only,
            units: done.job.units,
            version: Some(version(done)),
        };
        sheets::pdf(&done.job, &done.plan, &wanted)
    })
    .await
}

/// The offer to the customer as a PDF, of the newest whole plan.
#[utoipa::path(get, path = "/offer", responses(
    (status = 200, content_type = "application/pdf", body = String),
    (status = 422, body = Problem),
    (status = 500, body = Problem),
    NotThere,
))]
pub async fn offer(State(desk): State<Shared>) -> Result<Response, Problem> {
    printed(desk, "offer", |done| {
        let version = version(done);
        sheets::offer_pdf(&done.job, &done.plan, done.job.units, Some(&version))
    })
    .await
}

fn version(done: &Done) -> String {
    done.version.to_string()
}

async fn printed(
    desk: Shared,
    name: &'static str,
    print: impl FnOnce(&Done) -> Result<Vec<u8>, SheetError> + Send + 'static,
) -> Result<Response, Problem> {
    let done: Arc<Done> = desk.whole()?;
    let pdf = off_thread(move || Ok(print(&done)?)).await?;
    let headers = [
        (header::CONTENT_TYPE, "application/pdf".to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("inline; filename=\"{name}.pdf\""),
        ),
    ];
    Ok((headers, pdf).into_response())
}
