//! The requests that the page makes, and their description as OpenAPI.

mod extract;
mod files;
mod paper;
mod read;
mod write;

use axum::extract::DefaultBodyLimit;
use job::Step;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::sync::Arc;
use utoipa::openapi::OpenApi as Description;
use utoipa::{OpenApi, ToSchema};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use crate::desk::Desk;
use crate::event::{Changed, Planning, Unplanned};
pub use extract::Sent;

/// Most bytes of a change: a property with 100,000 heads fits.
const LARGEST_CHANGE: usize = 64 << 20;

/// One step of a change.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "op", rename_all = "snake_case")]
pub enum Op {
    /// A feature, new or in place of the one with its id.
    Put {
        /// The feature, as GeoJSON, with an id.
        feature: Value,
        /// Its place among the features if it is new; without it, the last.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<usize>,
    },
    /// A feature is taken out.
    Remove {
        /// Its id.
        id: String,
    },
    /// A value in the header.
    Set {
        /// A JSON pointer into the header.
        path: String,
        /// The value; `null` takes out what is there.
        value: Value,
    },
}

impl From<Op> for Step {
    fn from(op: Op) -> Self {
        match op {
            Op::Put { feature, at } => Self::Put { feature, at },
            Op::Remove { id } => Self::Remove { id },
            Op::Set { path, value } => Self::Set { path, value },
        }
    }
}

/// The state of every request.
pub type Shared = Arc<Desk>;

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Spadework planner",
        description = "What the planner's page asks of the program that serves it. Requests that change something \
                       carry the header `x-spadework` with the token that stands in the page.",
        license(name = "MIT OR Apache-2.0", identifier = "MIT OR Apache-2.0"),
    ),
    components(schemas(Changed, Planning, Unplanned))
)]
struct Api;

/// All requests below `/api`.
pub fn routes() -> OpenApiRouter<Shared> {
    OpenApiRouter::new()
        .routes(routes!(read::job))
        .routes(routes!(read::kinds))
        .routes(routes!(read::settings))
        .routes(routes!(read::plan))
        .routes(routes!(read::unplanned))
        .routes(routes!(read::working))
        .routes(routes!(read::history))
        .routes(routes!(read::variants))
        .routes(routes!(read::events))
        .routes(routes!(read::drawing))
        .routes(routes!(paper::sheets))
        .routes(routes!(paper::offer))
        .routes(routes!(write::edits))
        .routes(routes!(write::undo))
        .routes(routes!(write::redo))
        .routes(routes!(write::return_to))
        .routes(routes!(write::keep))
        .routes(routes!(write::open_variant))
        .routes(routes!(write::drop_variant))
        .routes(routes!(files::import))
        .routes(routes!(files::picture, files::put_picture))
        .routes(routes!(files::drop_picture))
        .layer(DefaultBodyLimit::max(LARGEST_CHANGE))
}

/// The description of all requests.
pub fn description() -> Description {
    let (_, mut api) = OpenApiRouter::with_openapi(Api::openapi())
        .nest("/api", routes())
        .split_for_parts();
    // The version of the program is no part of what it answers.
    api.info.version = "1".to_owned();
    api
}
