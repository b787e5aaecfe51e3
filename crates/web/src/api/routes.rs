//! What answers under which path of the API.

use axum::routing::get;
use axum::{Router, middleware};
use utoipa::IntoResponses;

use super::{alert, history, line, normal, profile, shift, signal, storage, tagged};
use crate::problem::Problem;
use crate::serve::App;

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
        .layer(middleware::from_fn(tagged::tag))
}
