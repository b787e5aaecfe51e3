//! Sheets: pages to read, print and send that need nothing else.

use axum::http::header;
use axum::response::{Html, IntoResponse, Response};

/// A sheet is a page of its own with its style inside, and runs nothing.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; \
    frame-ancestors 'none'";

/// A sheet as it goes to a browser.
pub(crate) fn sheet(html: String) -> Response {
    ([(header::CONTENT_SECURITY_POLICY, POLICY)], Html(html)).into_response()
}
