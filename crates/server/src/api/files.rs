//! Files that are dropped on the page, and pictures to draw over.

#![allow(
    unused_qualifications,
    reason = "written by the macro that describes requests"
)]

use axum::Json;
use axum::body::Bytes;
use axum::extract::State;
use axum::extract::rejection::BytesRejection;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use exchange::{Mapping, Options};
use job::{Document, Step, steps_between};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use store::Picture;
use underlay::Known;
use utoipa::{IntoParams, ToSchema};

use super::extract::Asked;
use super::{Sent, Shared};
use crate::desk::Desk;
use crate::problem::{NotThere, Problem, Refused};
use crate::serving::off_thread;

/// A file that is sent.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct WhichFile {
    /// Its name; the ending tells its form.
    name: String,
    /// The page that sends it.
    tab: String,
}

/// What was taken of a file.
#[derive(Debug, Serialize, ToSchema)]
pub struct Taken {
    /// The version that it led to; nothing if nothing was taken.
    #[schema(required)]
    version: Option<i64>,
    /// What was taken, what was left, and why.
    report: String,
}

fn bytes(sent: Result<Bytes, BytesRejection>) -> Result<Bytes, Problem> {
    sent.map_err(|rejection| {
        Problem::new(
            rejection.status(),
            format!("The file cannot be taken: {}", rejection.body_text()),
            "send a smaller file, or bring it in with `spadework import`",
        )
    })
}

/// Brings what others have drawn or measured into the job: DXF, GeoJSON, survey points, GPX; into an empty job also
/// a whole job in text form.
#[utoipa::path(post, path = "/import", params(WhichFile),
    request_body(content = String, content_type = "application/octet-stream"),
    responses(
        (status = 200, body = Taken),
        Refused,
    ))]
pub async fn import(
    State(desk): State<Shared>,
    Asked(which): Asked<WhichFile>,
    sent: Result<Bytes, BytesRejection>,
) -> Result<Json<Taken>, Problem> {
    let bytes = bytes(sent)?;
    off_thread(move || take(&desk, &which, &bytes))
        .await
        .map(Json)
}

fn take(desk: &Desk, which: &WhichFile, bytes: &[u8]) -> Result<Taken, Problem> {
    let ending = which.name.rsplit_once('.').map_or("", |(_, end)| end);
    let read = exchange::reader(ending).ok_or_else(|| {
        let known: Vec<String> = exchange::READERS
            .iter()
            .map(|(end, _)| format!(".{end}"))
            .collect();
        Problem::refused(
            format!("The ending of {} does not say what it is", which.name),
            format!(
                "give a file that ends in one of {}, or a picture or a page to draw over (.png, .jpg, .pdf)",
                known.join(", ")
            ),
        )
    })?;
    if let Some(whole) = whole_job(bytes) {
        return take_job(desk, which, &whole);
    }
    let imported = read(
        bytes,
        &desk.target(),
        &Mapping::default(),
        &Options::default(),
    )
    .map_err(|found| Problem::findings(format!("{} was not taken", which.name), &found))?;
    let mut steps: Vec<Step> = imported
        .features
        .into_iter()
        .map(|feature| Step::Put { feature, at: None })
        .collect();
    if let (Some(anchor), None) = (imported.anchor, desk.target().anchor) {
        steps.push(Step::Set {
            path: "/anchor".to_owned(),
            value: serde_json::to_value(anchor).unwrap_or_default(),
        });
    }
    put(desk, which, steps, imported.report.text())
}

fn whole_job(bytes: &[u8]) -> Option<Document> {
    Document::of(std::str::from_utf8(bytes).ok()?).ok()
}

fn take_job(desk: &Desk, which: &WhichFile, whole: &Document) -> Result<Taken, Problem> {
    if !desk.is_empty() {
        return Err(Problem::refused(
            format!(
                "{} is a whole job, and this one has something drawn in it already",
                which.name
            ),
            "open it by itself with `spadework open`",
        ));
    }
    let view = desk.job()?;
    let mut whole = whole.clone();
    let mut seen = BTreeSet::new();
    whole.features.retain(|feature| {
        let id = feature["id"].as_str();
        id.is_some_and(|id| seen.insert(id.to_owned()))
    });
    let now = Document {
        header: view.header,
        ..Document::default()
    };
    let report = format!(
        "Taken: the job with its {} features\n",
        whole.features.len()
    );
    put(desk, which, steps_between(&now, &whole), report)
}

fn put(desk: &Desk, which: &WhichFile, steps: Vec<Step>, report: String) -> Result<Taken, Problem> {
    if steps.is_empty() {
        return Ok(Taken {
            version: None,
            report,
        });
    }
    let label = format!("Brought in {}", which.name);
    let version = desk.edit(&label, (&which.tab, None), steps)?;
    Ok(Taken {
        version: Some(version),
        report,
    })
}

/// A picture.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct WhichPicture {
    /// Its name.
    name: String,
}

/// A picture to draw over.
#[utoipa::path(get, path = "/picture", params(WhichPicture), responses(
    (status = 200, content_type = "image/png", body = String),
    (status = 400, body = Problem),
    (status = 404, body = Problem),
    (status = 500, body = Problem),
))]
pub async fn picture(
    State(desk): State<Shared>,
    Asked(which): Asked<WhichPicture>,
) -> Result<Response, Problem> {
    let picture = off_thread(move || desk.picture(&which.name)).await?;
    let is_png = picture.bytes.starts_with(b"\x89PNG");
    let kind = if is_png { "image/png" } else { "image/jpeg" };
    Ok(([(header::CONTENT_TYPE, kind)], picture.bytes).into_response())
}

/// A picture with its known points.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct PictureByPoints {
    /// Its name; the ending tells its form.
    name: String,
    /// Known points, two or more, with `;` between: pixels from its left and upper edge (of a PDF: points, 1/72
    /// inch) and the place in the job, as `px,py,x,y`.
    known: String,
    /// The page of a PDF, from 1 on.
    #[param(minimum = 1)]
    page: Option<usize>,
}

/// What came of a picture.
#[derive(Debug, Serialize, ToSchema)]
pub struct Laid {
    /// What it is called.
    name: String,
    /// What to know of it.
    notes: Vec<String>,
    /// How far known points lie from their places at most, in the job's length unit.
    worst: f64,
}

/// Lays a picture or a page under the plan, to scale by known points.
#[utoipa::path(post, path = "/picture", params(PictureByPoints),
    request_body(content = String, content_type = "application/octet-stream"),
    responses(
        (status = 200, body = Laid),
        Refused,
    ))]
pub async fn put_picture(
    State(desk): State<Shared>,
    Asked(which): Asked<PictureByPoints>,
    sent: Result<Bytes, BytesRejection>,
) -> Result<Json<Laid>, Problem> {
    let bytes = bytes(sent)?;
    off_thread(move || lay(&desk, &which, &bytes))
        .await
        .map(Json)
}

fn lay(desk: &Desk, which: &PictureByPoints, bytes: &[u8]) -> Result<Laid, Problem> {
    let options = underlay::Options {
        page: which.page.unwrap_or(1),
        known: known(&which.known)?,
    };
    let laid = underlay::read(bytes, &options)
        .map_err(|found| Problem::findings(format!("{} was not taken", which.name), &found))?;
    let name = underlay::plain_name(&which.name);
    desk.put_picture(&Picture {
        name: name.clone(),
        bytes: laid.png,
        width: laid.width,
        height: laid.height,
        bounds: laid.bounds,
    })?;
    Ok(Laid {
        name,
        notes: laid.notes,
        worst: if options.known.len() > 2 {
            laid.worst
        } else {
            0.0
        },
    })
}

fn known(text: &str) -> Result<Vec<Known>, Problem> {
    let point = |text: &str| {
        let numbers: Vec<f64> = text
            .split(',')
            .map(|part| part.trim().parse().ok().filter(|n: &f64| n.is_finite()))
            .collect::<Option<_>>()?;
        match numbers[..] {
            [px, py, x, y] => Some(Known {
                pixel: [px, py],
                place: [x, y],
            }),
            _ => None,
        }
    };
    let points: Option<Vec<Known>> = text.split(';').map(point).collect();
    points.ok_or_else(|| {
        Problem::refused(
            "The known points of the picture cannot be read",
            "name two points on the picture and their places in the job",
        )
    })
}

/// Takes a picture out.
#[utoipa::path(post, path = "/picture/drop", request_body = super::write::Named, responses(
    (status = 200, body = super::write::Carried),
    Refused,
    NotThere,
))]
pub async fn drop_picture(
    State(desk): State<Shared>,
    Sent(named): Sent<super::write::Named>,
) -> Result<Json<super::write::Carried>, Problem> {
    off_thread(move || desk.drop_picture(&named.name)).await?;
    Ok(Json(super::write::DONE))
}
