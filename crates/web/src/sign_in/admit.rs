//! Lets a request in or refuses it, and notes what was changed.

use std::sync::{Arc, OnceLock};

use axum::extract::{FromRequestParts, MatchedPath, Request, State};
use axum::http::request::Parts;
use axum::http::uri::{Authority, Uri};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::desk::Desk;
use super::rights::least_role;
use super::role::Role;
use crate::api::ask;
use crate::problem::Problem;
use crate::serve::App;

/// The cookie of a session: sent over TLS and to this host alone, and read by no script.
pub(super) const COOKIE: &str = "__Host-session";

/// Who is asking.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Visitor {
    pub(super) name: Option<String>,
    pub(super) role: Option<Role>,
    /// The session, where they came by one.
    pub(super) session: Option<String>,
    /// The name that they gave themselves, where nobody signs in.
    said: Arc<OnceLock<String>>,
}

impl Visitor {
    /// The name under which they signed in.
    pub(crate) fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }

    /// Keeps in mind the name that they gave themselves, for what is noted.
    pub(crate) fn says(&self, name: &str) {
        // A request names one person.
        let _ = self.said.set(name.to_owned());
    }

    /// Under which name it is noted what they changed.
    fn noted_as(&self) -> String {
        match (&self.name, self.said.get()) {
            (Some(name), _) => name.clone(),
            (None, Some(said)) => format!("{said}, at this machine"),
            (None, None) => "who sits at this machine".into(),
        }
    }

    fn of(headers: &HeaderMap, desk: &Desk) -> Self {
        if let Some(token) = bearer(headers) {
            let (name, role) = desk.token(token).unzip();
            return Self { name, role, ..Self::default() };
        }
        if let Some(id) = cookie(headers)
            && let Some((name, role)) = desk.session(id)
        {
            return Self { name: Some(name), role: Some(role), session: Some(id.into()), ..Self::default() };
        }
        Self { role: desk.is_open().then_some(Role::Engineer), ..Self::default() }
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Visitor {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Problem> {
        // `admit` has put it there.
        Ok(parts.extensions.get::<Self>().cloned().unwrap_or_default())
    }
}

/// Lets a request in whose visitor may do what its route asks for, and which no other site has sent.
pub(crate) async fn admit(State(app): State<App>, mut request: Request, next: Next) -> Response {
    let visitor = Visitor::of(request.headers(), &app.desk);
    let route = request.extensions().get::<MatchedPath>().map(|route| route.as_str().to_owned());
    let least = route.as_deref().and_then(|route| least_role(request.method(), route));
    if let Some(problem) = refusal(&visitor, least) {
        return problem.into_response();
    }
    if is_change(request.method()) && !is_from_here(request.headers(), request.uri(), &visitor) {
        let detail = "The request comes from a page of another site, or does not say where it comes from. \
            Use the console itself, or a token in the header Authorization.";
        return Problem::new(StatusCode::FORBIDDEN, detail).into_response();
    }
    let noted = is_change(request.method()) && least.is_some();
    let change = format!("{} {}", request.method(), request.uri().path());
    request.extensions_mut().insert(visitor.clone());
    if !noted {
        return next.run(request).await;
    }
    // What was begun is done and noted, also when the client does not wait for the answer.
    let done = tokio::spawn(async move {
        let response = next.run(request).await;
        note(&app, visitor.noted_as(), format!("{change}: {}", response.status().as_u16())).await;
        response
    });
    done.await.unwrap_or_else(|error| {
        tracing::error!(%error, "a change broke off");
        StatusCode::INTERNAL_SERVER_ERROR.into_response()
    })
}

/// Keeps in the store who changed what.
pub(super) async fn note(app: &App, name: String, what: String) {
    // A failure is in the log already.
    let _ = ask(app, move |answers| answers.note(&name, &what)).await;
}

fn refusal(visitor: &Visitor, least: Option<Role>) -> Option<Problem> {
    let least = least?;
    match visitor.role {
        Some(role) if role >= least => None,
        Some(role) => {
            let detail = format!("You are {role}, and this is for {least}. Ask somebody who is.");
            Some(Problem::new(StatusCode::FORBIDDEN, detail))
        }
        None => {
            let detail = "Nobody is signed in. Sign in at / or by POST /api/v1/session, or send a token in the header \
                Authorization: Bearer.";
            Some(Problem::new(StatusCode::UNAUTHORIZED, detail))
        }
    }
}

fn is_change(method: &Method) -> bool {
    !matches!(*method, Method::GET | Method::HEAD | Method::OPTIONS)
}

/// Whether a change was asked for by a page of this host, or by a program: a browser says where a request comes from,
/// and sends cookies along whoever asks.
fn is_from_here(headers: &HeaderMap, uri: &Uri, visitor: &Visitor) -> bool {
    if bearer(headers).is_some() {
        return true;
    }
    if let Some(site) = headers.get("sec-fetch-site") {
        return site == "same-origin" || site == "none";
    }
    match headers.get(header::ORIGIN) {
        Some(origin) => {
            let origin = origin.to_str().ok().and_then(|origin| origin.parse::<Uri>().ok());
            let host = headers.get(header::HOST).and_then(|host| Authority::try_from(host.as_bytes()).ok());
            let host = uri.authority().cloned().or(host);
            origin.and_then(|origin| origin.authority().cloned()).is_some_and(|origin| Some(origin) == host)
        }
        None => visitor.session.is_none(),
    }
}

fn bearer(headers: &HeaderMap) -> Option<&str> {
    headers.get(header::AUTHORIZATION)?.to_str().ok()?.strip_prefix("Bearer ")
}

fn cookie(headers: &HeaderMap) -> Option<&str> {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|cookies| cookies.to_str().ok());
    let mut named = cookies.flat_map(|cookies| cookies.split(';')).filter_map(|cookie| cookie.trim().split_once('='));
    named.find(|(name, _)| *name == COOKIE).map(|(_, id)| id)
}
