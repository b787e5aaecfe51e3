//! What answers under which path.

use std::net::SocketAddr;

use axum::extract::State;
use axum::http::{Method, StatusCode, Uri, header};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::get;
use axum::{Json, Router, middleware};

use crate::api::{Names, check_date};
use crate::problem::Problem;
use crate::serve::App;
use crate::sign_in::admit;
use crate::status::PlantStatus;
use crate::{api, console, guard, live, page};

const STYLE: &str = include_str!("../assets/plant.css");
const API_STYLE: &str = include_str!("../assets/api.css");
const SCRIPT: &str = include_str!("../assets/plant.js");

/// A sheet is a page of its own with its style inside, and runs nothing.
const SHEET_POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; \
    form-action 'none'; frame-ancestors 'none'";

/// Every route, behind the guard.
pub(crate) fn router(app: App, bound: SocketAddr) -> Router {
    Router::new()
        .merge(console::routes())
        .route("/fragment/plant", get(plant_fragment))
        .route("/assets/plant.css", get(([(header::CONTENT_TYPE, "text/css; charset=utf-8")], STYLE)))
        .route("/assets/api.css", get(([(header::CONTENT_TYPE, "text/css; charset=utf-8")], API_STYLE)))
        .route("/assets/plant.js", get(([(header::CONTENT_TYPE, "text/javascript; charset=utf-8")], SCRIPT)))
        .route("/shifts/{line}/{date}/{shift}", get(shift_sheet))
        .route("/api/v1/status", get(status))
        .route("/api/v1/live", get(live::live))
        .route("/metrics", get(metrics))
        .route("/healthz", get("ok"))
        .route("/readyz", get(readiness))
        .merge(api::router())
        .fallback(nothing_here)
        .method_not_allowed_fallback(wrong_method)
        .layer(middleware::from_fn_with_state(app.clone(), admit))
        .layer(middleware::from_fn_with_state(bound, guard::refuse_foreign_host))
        .layer(middleware::from_fn(guard::secure))
        .with_state(app)
}

/// What stands inside the page's `main`, for a page that is already open.
async fn plant_fragment(State(app): State<App>) -> Html<String> {
    Html(page::fragment(&app.status()))
}

/// The whole plant at a glance: the newest status of every line, the broker and the service.
#[utoipa::path(get, path = "/api/v1/status", tag = "plant", responses((status = 200, body = PlantStatus)))]
pub(crate) async fn status(State(app): State<App>) -> Response {
    Json(&*app.status()).into_response()
}

async fn metrics(State(app): State<App>) -> Response {
    let text = (app.sources.metrics)();
    // OpenMetrics text ends with this mark, the older text format has none.
    let content_type = if text.trim_end().ends_with("# EOF") {
        "application/openmetrics-text; version=1.0.0; charset=utf-8"
    } else {
        "text/plain; version=0.0.4; charset=utf-8"
    };
    ([(header::CONTENT_TYPE, content_type)], text).into_response()
}

async fn readiness(State(app): State<App>) -> Result<&'static str, Problem> {
    let status = app.status();
    if status.ready {
        return Ok("ready");
    }
    let problem = Problem::new(StatusCode::SERVICE_UNAVAILABLE, "The service does not do its whole work yet.");
    Err(problem.because(status.problems.clone()))
}

async fn shift_sheet(
    State(app): State<App>,
    Names((line, date, shift)): Names<(String, String, String)>,
) -> Result<Response, Problem> {
    check_date(&date)?;
    let missing = format!("There is no sheet of shift \"{shift}\" of line \"{line}\" on {date}.");
    let sheet = tokio::task::spawn_blocking(move || (app.sources.shift_sheet)(&line, &date, &shift)).await;
    match sheet {
        Ok(Some(sheet)) => Ok(([(header::CONTENT_SECURITY_POLICY, SHEET_POLICY)], Html(sheet)).into_response()),
        Ok(None) => Err(Problem::new(StatusCode::NOT_FOUND, missing)),
        Err(error) => {
            tracing::error!(%error, "a shift sheet could not be made");
            let detail = "The sheet could not be made. The log of the service says why.";
            Err(Problem::new(StatusCode::INTERNAL_SERVER_ERROR, detail))
        }
    }
}

async fn nothing_here(uri: Uri) -> Problem {
    Problem::new(StatusCode::NOT_FOUND, format!("There is nothing under {}. The page is under /.", uri.path()))
}

async fn wrong_method(method: Method, uri: Uri) -> Problem {
    let detail = format!("{} can only be read, not used with {method}.", uri.path());
    Problem::new(StatusCode::METHOD_NOT_ALLOWED, detail)
}
