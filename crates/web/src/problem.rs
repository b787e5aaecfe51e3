//! Errors as problem details (RFC 9457).

use axum::Json;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;

/// What went wrong with a request. The type is left at `about:blank`: the status says which kind it is.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({ "title": "Not Found", "status": 404, "detail": "There is no line \"tunnel-9\". Write one of tunnel-1, tunnel-2." }))]
pub(crate) struct Problem {
    /// The kind of problem, as HTTP names it.
    title: &'static str,
    /// Status of HTTP.
    status: u16,
    /// What is wrong, and what to do instead.
    detail: String,
    /// What stands behind it, a sentence each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    problems: Vec<String>,
}

impl Problem {
    /// A problem with what the client can do about it.
    pub(crate) fn new(status: StatusCode, detail: impl Into<String>) -> Self {
        let title = status.canonical_reason().unwrap_or("Error");
        Self { title, status: status.as_u16(), detail: detail.into(), problems: Vec::new() }
    }

    /// Adds what stands behind it, a sentence each.
    pub(crate) fn because(mut self, problems: Vec<String>) -> Self {
        self.problems = problems;
        self
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        (status, [(header::CONTENT_TYPE, "application/problem+json")], Json(self)).into_response()
    }
}
