//! Entity tags: a browser that has an answer already is not sent it again (RFC 9110, section 13.1.2).

use std::hash::{DefaultHasher, Hasher};

use axum::body::{Body, to_bytes};
use axum::extract::Request;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

/// No answer of the API is larger: a history is capped, lists come in pages.
const LARGEST: usize = 64 << 20;

/// Gives every answer in JSON its tag; one that the client has already goes out without a body.
pub(crate) async fn tag(request: Request, next: Next) -> Response {
    let known = request.headers().get(header::IF_NONE_MATCH).cloned();
    let reads = matches!(*request.method(), Method::GET | Method::HEAD);
    let response = next.run(request).await;
    if !reads || response.status() != StatusCode::OK || !is_json(response.headers()) {
        return response;
    }
    let (mut parts, body) = response.into_parts();
    let Ok(bytes) = to_bytes(body, LARGEST).await else {
        return StatusCode::INTERNAL_SERVER_ERROR.into_response();
    };
    let mut hasher = DefaultHasher::new();
    hasher.write(&bytes);
    let tag = format!("\"{:016x}\"", hasher.finish());
    // Ask again each time, and be told at little cost that nothing is new.
    parts.headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("private, no-cache"));
    if let Ok(tag) = HeaderValue::from_str(&tag) {
        parts.headers.insert(header::ETAG, tag);
    }
    if known.is_some_and(|known| names(&known, &tag)) {
        parts.status = StatusCode::NOT_MODIFIED;
        parts.headers.remove(header::CONTENT_TYPE);
        parts.headers.remove(header::CONTENT_LENGTH);
        return Response::from_parts(parts, Body::empty());
    }
    Response::from_parts(parts, Body::from(bytes))
}

fn is_json(headers: &HeaderMap) -> bool {
    headers.get(header::CONTENT_TYPE).is_some_and(|value| value.as_bytes() == b"application/json")
}

/// Whether a list of tags names this one, weak or strong.
fn names(list: &HeaderValue, tag: &str) -> bool {
    list.to_str().is_ok_and(|list| {
        list.split(',').map(|one| one.trim().trim_start_matches("W/")).any(|one| one == tag || one == "*")
    })
}
