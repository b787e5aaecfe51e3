//! What answers under which path.

use std::net::SocketAddr;

use axum::extract::State;
use axum::http::{Method, StatusCode, Uri, header};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::{MethodRouter, get};
use axum::{Json, Router, middleware};

use crate::api::{Names, check_date};
use crate::problem::Problem;
use crate::serve::App;
use crate::sign_in::admit;
use crate::status::PlantStatus;
use crate::{api, console, guard, live, page, sheet};

const STYLE: &str = include_str!("../assets/plant.css");
const API_STYLE: &str = include_str!("../assets/api.css");
const SCRIPT: &str = include_str!("../assets/plant.js");

/// A path, and what answers under it.
pub(crate) type Route = (&'static str, MethodRouter<App>);

/// Every route, behind the guard. `admit` stands before each method that a path has: what none has is told so to
/// everybody.
pub(crate) fn router(app: App, bound: SocketAddr) -> Router {
    let scheme = if app.sources.certificate.is_some() { "https" } else { "http" };
    let admit = middleware::from_fn_with_state(app.clone(), admit);
    let guarded = |methods: MethodRouter<App>| methods.route_layer(admit.clone());
    let routes = routes().into_iter().chain(console::routes());
    let router = routes.fold(Router::new(), |router, (path, methods)| router.route(path, guarded(methods)));
    router
        .merge(api::router(guarded))
        .fallback(nothing_here)
        .method_not_allowed_fallback(wrong_method)
        .layer(middleware::from_fn_with_state((bound, scheme), guard::refuse_foreign_host))
        .layer(middleware::from_fn(guard::secure))
        .with_state(app)
}

fn routes() -> Vec<Route> {
    let text = |kind: &'static str, text: &'static str| get(([(header::CONTENT_TYPE, kind)], text));
    vec![
        ("/fragment/plant", get(plant_fragment)),
        ("/assets/plant.css", text("text/css; charset=utf-8", STYLE)),
        ("/assets/api.css", text("text/css; charset=utf-8", API_STYLE)),
        ("/assets/plant.js", text("text/javascript; charset=utf-8", SCRIPT)),
        ("/shifts/{line}/{date}/{shift}", get(shift_sheet)),
        ("/rate-changes/review", get(api::review_sheet)),
        ("/transit-runs/{id}", get(api::run_sheet)),
        ("/api/v1/status", get(status)),
        ("/api/v1/live", get(live::live)),
        ("/metrics", get(metrics)),
        ("/healthz", get("ok")),
        ("/readyz", get(readiness)),
    ]
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
    let format = "application/openmetrics-text; version=1.0.0; charset=utf-8";
    ([(header::CONTENT_TYPE, format)], (app.sources.metrics)()).into_response()
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
    let made = tokio::task::spawn_blocking(move || (app.sources.shift_sheet)(&line, &date, &shift)).await;
    match made {
        Ok(Some(html)) => Ok(sheet::sheet(html)),
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
    let detail = format!("{} is not there for {method}. /api lists what is, and Allow names it.", uri.path());
    Problem::new(StatusCode::METHOD_NOT_ALLOWED, detail)
}
