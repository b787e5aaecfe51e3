//! Parameters of a request, with a problem that says what to send instead.

use axum::extract::{FromRequestParts, Path, Query};
use axum::http::StatusCode;
use axum::http::request::Parts;
use chrono::{DateTime, Utc};
use serde::de::DeserializeOwned;

use super::{Moment, Period};
use crate::problem::Problem;

/// What stands behind the question mark.
pub(crate) struct Parameters<T>(pub(crate) T);

/// What stands between the slashes.
pub(crate) struct Names<T>(pub(crate) T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequestParts<S> for Parameters<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        match Query::<T>::from_request_parts(parts, state).await {
            Ok(Query(parameters)) => Ok(Self(parameters)),
            Err(rejection) => Err(wrong(format!("{}; /api lists the parameters", rejection.body_text()))),
        }
    }
}

impl<T: DeserializeOwned + Send, S: Send + Sync> FromRequestParts<S> for Names<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        let names = Path::<T>::from_request_parts(parts, state).await;
        names.map(|Path(names)| Self(names)).map_err(|rejection| wrong(rejection.body_text()))
    }
}

/// Both ends of a period, where they are named.
pub(crate) fn period(from: Option<&str>, to: Option<&str>) -> Result<Period, Problem> {
    let (from, to) = (moment("from", from)?, moment("to", to)?);
    match (from, to) {
        (Some(from), Some(to)) if from >= to => Err(wrong("\"from\" is not before \"to\". Exchange them.")),
        _ => Ok(Period { from, to }),
    }
}

/// A moment, where one is named.
pub(crate) fn moment(name: &str, text: Option<&str>) -> Result<Option<Moment>, Problem> {
    let Some(text) = text else { return Ok(None) };
    let moment = DateTime::parse_from_rfc3339(text).map(|time| time.with_timezone(&Utc));
    // Times are kept as microseconds in 64 bits, and written with four digits of a year.
    let kept = moment.ok().filter(|moment| (1970..=9999).contains(&chrono::Datelike::year(moment)));
    kept.map(Some).ok_or_else(|| {
        wrong(format!("\"{name}\" is {text:?}. Write a time such as 2026-11-02T06:00:00Z; a + in an address is %2B."))
    })
}

pub(crate) fn wrong(detail: impl Into<String>) -> Problem {
    Problem::new(StatusCode::BAD_REQUEST, detail)
}
