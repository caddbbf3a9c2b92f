//! What a request carries, refused in words where it is not as it should be.

use axum::Json;
use axum::extract::rejection::{JsonRejection, QueryRejection};
use axum::extract::{FromRequest, FromRequestParts, Query, Request};
use axum::http::request::Parts;
use serde::de::DeserializeOwned;

use crate::problem::Problem;

/// A JSON body.
pub struct Sent<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Sent<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        match Json::<T>::from_request(request, state).await {
            Ok(Json(value)) => Ok(Self(value)),
            Err(rejection) => Err(body(&rejection)),
        }
    }
}

fn body(rejection: &JsonRejection) -> Problem {
    Problem::new(
        rejection.status(),
        format!("The request cannot be read: {}", rejection.body_text()),
        "load the page anew",
    )
}

/// What stands behind the `?` of an address.
pub struct Asked<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequestParts<S> for Asked<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        match Query::<T>::from_request_parts(parts, state).await {
            Ok(Query(value)) => Ok(Self(value)),
            Err(rejection) => Err(query(&rejection)),
        }
    }
}

fn query(rejection: &QueryRejection) -> Problem {
    Problem::new(
        rejection.status(),
        format!("The request cannot be read: {}", rejection.body_text()),
        "load the page anew",
    )
}
