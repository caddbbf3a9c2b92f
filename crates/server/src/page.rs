//! The page, which is built into the program.

use axum::extract::{Form, State};
use axum::http::{HeaderValue, StatusCode, Uri, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use include_dir::{Dir, include_dir};
use serde::Deserialize;
use std::sync::Arc;

use crate::guard::Guard;
use crate::problem::Problem;

/// Where a device gives its code.
pub const ENTER: &str = "/enter";

/// Where the token stands in the page.
const PLACE: &str = "<meta name=\"token\" content=\"\" />";

static PAGE: Dir<'_> = include_dir!("$OUT_DIR/page");

/// The page itself, with the token that it shows with every change.
pub async fn index(State(guard): State<Arc<Guard>>) -> Response {
    let Some(file) = PAGE.get_file("index.html") else {
        return lacking();
    };
    let text = String::from_utf8_lossy(file.contents());
    let filled = text.replace(
        PLACE,
        &format!("<meta name=\"token\" content=\"{}\" />", guard.token),
    );
    Html(filled).into_response()
}

fn lacking() -> Response {
    Problem::new(
        StatusCode::NOT_FOUND,
        "This program was built without its page",
        "install Node.js and build it again",
    )
    .into_response()
}

/// A file of the page. Only what was built in is looked at, whatever the path says.
pub async fn file(uri: Uri) -> Response {
    let path = uri.path().trim_start_matches('/');
    let Some(file) = PAGE.get_file(path) else {
        return Problem::not_there("There is no such page", "open the address without a path")
            .into_response();
    };
    let kind = match path.rsplit_once('.').map(|(_, end)| end) {
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("html") => "text/html; charset=utf-8",
        _ => "application/octet-stream",
    };
    let mut answer = file.contents().into_response();
    let headers = answer.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    // Names of assets change with what is in them.
    if path.starts_with("assets/") {
        let forever = HeaderValue::from_static("public, max-age=31536000, immutable");
        headers.insert(header::CACHE_CONTROL, forever);
    }
    answer
}

/// What a device gives.
#[derive(Debug, Deserialize)]
pub struct Given {
    code: String,
}

/// Takes the code of a device.
pub async fn enter(State(guard): State<Arc<Guard>>, Form(given): Form<Given>) -> Response {
    let Some(cookie) = guard.enter(&given.code) else {
        return door(StatusCode::FORBIDDEN, "That is not the code.");
    };
    let mut answer = Redirect::to("/").into_response();
    if let Ok(cookie) = HeaderValue::from_str(&cookie) {
        answer.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    answer
}

/// Asks a device for its code.
pub fn door(status: StatusCode, said: &str) -> Response {
    let page = format!(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><title>Spadework</title></head>\
         <body><main><h1>Spadework</h1><p role=\"status\">{said}</p><form method=\"post\" action=\"{ENTER}\">\
         <p><label for=\"code\">The code that the program has printed</label></p>\
         <p><input id=\"code\" name=\"code\" autocomplete=\"one-time-code\" required autofocus></p>\
         <p><button>Open the plan</button></p></form></main></body></html>"
    );
    (status, Html(page)).into_response()
}
