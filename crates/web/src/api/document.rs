//! The document of the API (OpenAPI 3.1), made from the types and the handlers.

use std::sync::LazyLock;

use axum::http::header;
use axum::response::{Html, IntoResponse};
use utoipa::OpenApi;

use super::{
    alert, change, energy, history, line, manual, normal, profile, rate_change, rate_review, shift, signal, storage,
    transit,
};
use crate::sign_in::routes as people;
use crate::{live, routes, sign_in};

#[derive(OpenApi)]
#[openapi(
    info(
        title = "ovenward",
        description = "What the service knows of the plant, and what people answer. Times are RFC 3339, units stand in \
            the names, null is what nobody knows. Lists come in pages: `next` is the `cursor` of the next. An answer \
            that has an ETag is not sent again to who names it in If-None-Match. Errors are problem details (RFC 9457). \
            Advice only: nothing here reaches a control system.",
    ),
    tags(
        (name = "plant", description = "The plant at a glance, as configured and as heard"),
        (name = "lines", description = "One line: now, and over time"),
        (name = "alerts", description = "Alerts, and what people answer"),
        (name = "shifts", description = "Shifts and their profile tables"),
        (name = "normals", description = "What is usual, and since when"),
        (name = "rate changes", description = "A rate change reviewed before it is made, and its record"),
        (name = "energy", description = "What lines used, what they made of it, and whether that is less than before"),
        (name = "transit runs", description = "Runs of a travelling logger"),
        (name = "store", description = "What is kept, what is missing, what could not be read"),
        (name = "people", description = "Who signs in, and who changed what"),
    ),
    paths(
        routes::status, live::live, line::lines, signal::signals, history::history, profile::profile,
        alert::alerts, alert::rates, alert::alert, change::acknowledge, change::comment,
        change::suppressions, change::suppress, change::release,
        shift::shifts, shift::table,
        normal::normals, normal::difference, normal::normal, change::approve, change::retire,
        rate_review::review, rate_change::rate_changes, rate_change::rate_change, rate_change::propose,
        rate_change::agree, rate_change::made, rate_change::follow_up,
        energy::energy, energy::csv, energy::columns,
        transit::runs, transit::run, transit::compare, transit::keep,
        storage::store, storage::gaps, storage::quarantine,
        people::who, people::sign_in, people::sign_out, people::audit,
    )
)]
struct Document;

static JSON: LazyLock<serde_json::Value> = LazyLock::new(|| {
    // What the macros make can always be written as JSON.
    let mut document = serde_json::to_value(Document::openapi()).unwrap_or_default();
    sign_in::note_roles(&mut document);
    document
});

static TEXT: LazyLock<String> = LazyLock::new(|| JSON.to_string());

/// The document, for programs.
pub(crate) async fn json() -> impl IntoResponse {
    ([(header::CONTENT_TYPE, "application/json")], TEXT.as_str())
}

/// The document, for people.
pub(crate) async fn page() -> Html<String> {
    Html(manual::page(&JSON))
}
