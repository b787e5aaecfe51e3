//! What answers under which path of the API.

use axum::extract::DefaultBodyLimit;
use axum::routing::{MethodRouter, delete, get, post};
use axum::{Router, middleware};
use utoipa::IntoResponses;

use super::{
    alert, change, document, energy, history, line, normal, profile, rate_change, rate_review, shift, signal, storage,
    tagged, transit,
};
use crate::problem::Problem;
use crate::routes::Route;
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

/// Every route of the API, each as `guarded` has it, with entity tags.
pub(crate) fn router(guarded: impl Fn(MethodRouter<App>) -> MethodRouter<App>) -> Router<App> {
    let routes = routes().into_iter().chain(sign_in::routes());
    let router = routes.fold(Router::new(), |router, (path, methods)| router.route(path, guarded(methods)));
    router.layer(DefaultBodyLimit::max(change::LARGEST_BODY)).layer(middleware::from_fn(tagged::tag))
}

fn routes() -> Vec<Route> {
    let keep_run = post(transit::keep).layer(DefaultBodyLimit::max(transit::LARGEST_FILE));
    vec![
        ("/api/v1/lines", get(line::lines)),
        ("/api/v1/lines/{line}/history", get(history::history)),
        ("/api/v1/lines/{line}/profile", get(profile::profile)),
        ("/api/v1/alerts", get(alert::alerts)),
        ("/api/v1/alerts/rates", get(alert::rates)),
        ("/api/v1/alerts/{id}", get(alert::alert)),
        ("/api/v1/alerts/{id}/acknowledge", post(change::acknowledge)),
        ("/api/v1/alerts/{id}/comment", post(change::comment)),
        ("/api/v1/suppressions", get(change::suppressions).post(change::suppress)),
        ("/api/v1/suppressions/{line}/{kind}", delete(change::release)),
        ("/api/v1/shifts", get(shift::shifts)),
        ("/api/v1/shifts/{line}/{date}/{shift}", get(shift::table)),
        ("/api/v1/normals", get(normal::normals)),
        ("/api/v1/normals/diff", get(normal::difference)),
        ("/api/v1/normals/{line}/{product}/{version}", get(normal::normal)),
        ("/api/v1/normals/{line}/{product}/{version}/approve", post(change::approve)),
        ("/api/v1/normals/{line}/{product}/{version}/retire", post(change::retire)),
        ("/api/v1/rate-changes", get(rate_change::rate_changes).post(rate_change::propose)),
        ("/api/v1/rate-changes/review", get(rate_review::review)),
        ("/api/v1/rate-changes/{line}/{number}", get(rate_change::rate_change)),
        ("/api/v1/rate-changes/{line}/{number}/agree", post(rate_change::agree)),
        ("/api/v1/rate-changes/{line}/{number}/made", post(rate_change::made)),
        ("/api/v1/rate-changes/{line}/{number}/follow-up", post(rate_change::follow_up)),
        ("/api/v1/energy/columns", get(energy::columns)),
        ("/api/v1/energy/{line}", get(energy::energy)),
        ("/api/v1/energy/{line}/csv", get(energy::csv)),
        ("/api/v1/transit-runs", get(transit::runs).merge(keep_run)),
        ("/api/v1/transit-runs/compare", get(transit::compare)),
        ("/api/v1/transit-runs/{id}", get(transit::run)),
        ("/api/v1/signals", get(signal::signals)),
        ("/api/v1/gaps", get(storage::gaps)),
        ("/api/v1/store", get(storage::store)),
        ("/api/v1/quarantine", get(storage::quarantine)),
        ("/api/v1/openapi.json", get(document::json)),
        ("/api", get(document::page)),
    ]
}
