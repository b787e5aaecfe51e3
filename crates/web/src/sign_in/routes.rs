//! Signing in and out, and who changed what.

use axum::Json;
use axum::extract::State;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::admit::{COOKIE, Visitor, note};
use super::desk::Refused;
use super::role::Role;
use crate::api::{AuditEntry, Body, Page, Paging, Parameters, ask};
use crate::problem::Problem;
use crate::routes::Route;
use crate::serve::App;

/// Who is asking.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({ "name": "Ann", "role": "lead", "open": false }))]
pub(crate) struct Who {
    /// The name they signed in with; null for nobody.
    name: Option<String>,
    /// What they may do; null for nothing.
    role: Option<Role>,
    /// Whether nobody signs in, and each change says who makes it: there are no users, and only this machine can ask.
    open: bool,
}

/// A name and its password.
#[derive(Deserialize, Serialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "name": "Ann", "password": "warm rolls at six" }))]
pub(crate) struct Credentials {
    /// The name.
    #[schema(max_length = 80)]
    name: String,
    /// The password.
    #[schema(max_length = 200)]
    password: String,
}

/// Every route about people.
pub(crate) fn routes() -> [Route; 2] {
    [("/api/v1/session", get(who).post(sign_in).delete(sign_out)), ("/api/v1/audit", get(audit))]
}

/// Who is asking, and what they may do.
#[utoipa::path(get, path = "/api/v1/session", tag = "people", responses((status = 200, body = Who)))]
pub(crate) async fn who(State(app): State<App>, visitor: Visitor) -> Json<Who> {
    Json(Who { name: visitor.name, role: visitor.role, open: app.desk.is_open() })
}

/// Signs in: the answer sets the cookie of a new session.
#[utoipa::path(post, path = "/api/v1/session", tag = "people", request_body = Credentials, responses(
    (status = 200, body = Who), crate::api::WrongRequest,
    (status = 401, content_type = "application/problem+json", body = Problem, description = "The name or the password is wrong."),
    (status = 429, content_type = "application/problem+json", body = Problem, description = "Too many wrong passwords; Retry-After says how long to wait.")))]
pub(crate) async fn sign_in(
    State(app): State<App>,
    visitor: Visitor,
    Body(Credentials { name, password }): Body<Credentials>,
) -> Result<Response, Problem> {
    let letters = |text: &str, most: usize| text.chars().count() <= most;
    if !letters(&name, 80) || !letters(&password, 200) {
        return Err(crate::api::wrong("A name has at most 80 letters, a password at most 200."));
    }
    match app.desk.clone().sign_in(name.clone(), password).await {
        Ok((id, role)) => {
            // Whoever was signed in here before no longer is.
            visitor.session.iter().for_each(|session| app.desk.sign_out(session));
            note(&app, name.clone(), "signed in".into()).await;
            let who = Who { name: Some(name), role: Some(role), open: false };
            Ok((set_cookie(&id, ""), Json(who)).into_response())
        }
        Err(Refused::Wrong) => {
            note(&app, name, "a wrong name or password".into()).await;
            Err(Problem::new(StatusCode::UNAUTHORIZED, "The name or the password is wrong. Try again."))
        }
        Err(Refused::Wait(wait)) => {
            let seconds = wait.as_secs() + 1;
            let detail = format!("Too many wrong passwords. Try again in {} min.", seconds.div_ceil(60));
            let problem = Problem::new(StatusCode::TOO_MANY_REQUESTS, detail);
            Ok(([(header::RETRY_AFTER, HeaderValue::from(seconds))], problem).into_response())
        }
    }
}

/// Signs out.
#[utoipa::path(delete, path = "/api/v1/session", tag = "people", responses((status = 204, description = "Nobody is signed in any more.")))]
pub(crate) async fn sign_out(State(app): State<App>, visitor: Visitor) -> Response {
    visitor.session.iter().for_each(|session| app.desk.sign_out(session));
    (StatusCode::NO_CONTENT, set_cookie("", "; Max-Age=0")).into_response()
}

/// Who changed what, the newest first.
#[utoipa::path(get, path = "/api/v1/audit", tag = "people", params(Paging),
    responses((status = 200, body = Page<AuditEntry>), crate::api::WrongRequest))]
pub(crate) async fn audit(
    State(app): State<App>,
    Parameters(paging): Parameters<Paging>,
) -> Result<Json<Page<AuditEntry>>, Problem> {
    let entries = ask(&app, |answers| answers.audit()).await?;
    paging.cut(entries, |entry| entry.id.to_string()).map(Json)
}

fn set_cookie(id: &str, further: &str) -> [(header::HeaderName, String); 1] {
    [(header::SET_COOKIE, format!("{COOKIE}={id}; Path=/; Secure; HttpOnly; SameSite=Strict{further}"))]
}
