//! What answers under which path of the API.

use axum::extract::DefaultBodyLimit;
use axum::routing::{delete, get, post};
use axum::{Router, middleware};
use utoipa::IntoResponses;

use super::{alert, change, document, history, line, normal, profile, shift, signal, storage, tagged};
use crate::problem::Problem;
use crate::serve::App;
use crate::sign_in;

/// Nothing of this name.
#[derive(IntoResponses)]
#[response(status = 404, content_type = "application/problem+json", description = "There is nothing of this name.")]
#[allow(dead_code, reason = "stands in the document of the API only")]
pub(crate) struct NoSuchThing(#[to_schema] Problem);

/// A request that makes no sense.
#[derive(IntoResponses)]
#[response(
    status = 400,
    content_type = "application/problem+json",
    description = "The request makes no sense; the detail says what to send instead."
)]
#[allow(dead_code, reason = "stands in the document of the API only")]
pub(crate) struct WrongRequest(#[to_schema] Problem);

/// What cannot be as things stand.
#[derive(IntoResponses)]
#[response(
    status = 409,
    content_type = "application/problem+json",
    description = "It cannot be done as things stand; the detail says why."
)]
#[allow(dead_code, reason = "stands in the document of the API only")]
pub(crate) struct Refused(#[to_schema] Problem);

/// Every route of the API, with entity tags.
pub(crate) fn router() -> Router<App> {
    Router::new()
        .route("/api/v1/lines", get(line::lines))
        .route("/api/v1/lines/{line}/history", get(history::history))
        .route("/api/v1/lines/{line}/profile", get(profile::profile))
        .route("/api/v1/alerts", get(alert::alerts))
        .route("/api/v1/alerts/rates", get(alert::rates))
        .route("/api/v1/alerts/{id}", get(alert::alert))
        .route("/api/v1/signals", get(signal::signals))
        .route("/api/v1/gaps", get(storage::gaps))
        .route("/api/v1/store", get(storage::store))
        .route("/api/v1/quarantine", get(storage::quarantine))
        .route("/api/v1/normals", get(normal::normals))
        .route("/api/v1/normals/diff", get(normal::difference))
        .route("/api/v1/normals/{line}/{product}/{version}", get(normal::normal))
        .route("/api/v1/shifts", get(shift::shifts))
        .route("/api/v1/shifts/{line}/{date}/{shift}", get(shift::table))
        .route("/api/v1/alerts/{id}/acknowledge", post(change::acknowledge))
        .route("/api/v1/alerts/{id}/comment", post(change::comment))
        .route("/api/v1/suppressions", get(change::suppressions).post(change::suppress))
        .route("/api/v1/suppressions/{line}/{kind}", delete(change::release))
        .route("/api/v1/normals/{line}/{product}/{version}/approve", post(change::approve))
        .route("/api/v1/normals/{line}/{product}/{version}/retire", post(change::retire))
        .route("/api/v1/openapi.json", get(document::json))
        .route("/api", get(document::page))
        .merge(sign_in::router())
        .layer(DefaultBodyLimit::max(change::LARGEST_BODY))
        .layer(middleware::from_fn(tagged::tag))
}
