//! What every request passes and every answer carries.

use std::net::{IpAddr, SocketAddr};

use axum::extract::{Request, State};
use axum::http::header::{self, HeaderName};
use axum::http::uri::Authority;
use axum::http::{HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::problem::Problem;

/// The page brings its own style and script and asks nobody else for anything.
const CONTENT_POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; \
    connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

const HEADERS: [(HeaderName, &str); 5] = [
    (header::CONTENT_SECURITY_POLICY, CONTENT_POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (header::CACHE_CONTROL, "no-store"),
];

/// Adds the headers that tell a browser to trust nothing but this page. An answer may bring its own.
pub(crate) async fn secure(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    for (name, value) in HEADERS {
        response.headers_mut().entry(name).or_insert(HeaderValue::from_static(value));
    }
    response
}

/// Refuses a request that was meant for another host. Without this, a web page anywhere could point its own
/// name at 127.0.0.1 and read the plant through the browser of whoever opens it.
pub(crate) async fn refuse_foreign_host(
    State((bound, scheme)): State<(SocketAddr, &'static str)>,
    request: Request,
    next: Next,
) -> Response {
    let authority = request.uri().authority().cloned().or_else(|| {
        let host = request.headers().get(header::HOST)?;
        Authority::try_from(host.as_bytes()).ok()
    });
    match authority {
        None => Problem::new(StatusCode::BAD_REQUEST, "The request names no host. Send a Host header.").into_response(),
        Some(authority) if bound.ip().is_loopback() && !is_loopback(authority.host()) => {
            let detail = format!("Nothing here answers for {}. Open {scheme}://{bound}/ instead.", authority.host());
            Problem::new(StatusCode::MISDIRECTED_REQUEST, detail).into_response()
        }
        Some(_) => next.run(request).await,
    }
}

fn is_loopback(host: &str) -> bool {
    let address = host.trim_start_matches('[').trim_end_matches(']');
    host.eq_ignore_ascii_case("localhost") || address.parse::<IpAddr>().is_ok_and(|address| address.is_loopback())
}

#[cfg(test)]
mod tests {
    use super::is_loopback;

    #[test]
    fn knows_the_names_of_this_machine() {
        for host in ["localhost", "LocalHost", "127.0.0.1", "127.9.8.7", "[::1]"] {
            assert!(is_loopback(host), "{host}");
        }
        for host in ["localhost.example", "127.0.0.1.example", "10.0.0.1", "[fe80::1]", "example", ""] {
            assert!(!is_loopback(host), "{host}");
        }
    }
}
