//! What people change: answers to alerts, kinds of alert that call nobody, normals.

use std::time::Duration;

use axum::Json;
use axum::body::HttpBody;
use axum::extract::{FromRequest, Request, State};
use axum::http::{StatusCode, header};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use tokio::time::timeout;
use utoipa::ToSchema;

use super::parameters::{Names, moment, wrong};
use super::{AlertRecord, Moment, Normal, Person, ask};
use crate::problem::Problem;
use crate::serve::App;
use crate::sign_in::Visitor;
use crate::status::SuppressionStatus;

/// The most bytes of a body: no change needs more.
pub(crate) const LARGEST_BODY: usize = 64 << 10;

/// A body that does not come within this time is not waited for.
const SLOWEST_BODY: Duration = Duration::from_secs(10);

/// A body in JSON, or its default where nothing is sent.
pub(crate) struct OptionalBody<T>(pub(crate) T);

impl<T: DeserializeOwned + Default, S: Send + Sync> FromRequest<S> for OptionalBody<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        if request.headers().contains_key(header::CONTENT_TYPE) || !request.body().is_end_stream() {
            return Body::from_request(request, state).await.map(|Body(body)| Self(body));
        }
        Ok(Self(T::default()))
    }
}

/// A body in JSON, with a problem that says what to send instead.
pub(crate) struct Body<T>(pub(crate) T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Body<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        let body = timeout(SLOWEST_BODY, Json::<T>::from_request(request, state)).await;
        let Ok(body) = body else {
            let detail = format!("The body did not come within {} s. Send it again.", SLOWEST_BODY.as_secs());
            return Err(Problem::new(StatusCode::REQUEST_TIMEOUT, detail));
        };
        match body {
            Ok(Json(body)) => Ok(Self(body)),
            Err(rejection) if rejection.status() == StatusCode::UNSUPPORTED_MEDIA_TYPE => {
                let detail =
                    format!("Send the body as JSON, with the header {}: application/json.", header::CONTENT_TYPE);
                Err(Problem::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, detail))
            }
            Err(rejection) if rejection.status() == StatusCode::PAYLOAD_TOO_LARGE => {
                let detail = format!("The body is larger than {LARGEST_BODY} bytes. Send less.");
                Err(Problem::new(StatusCode::PAYLOAD_TOO_LARGE, detail))
            }
            Err(rejection) => Err(wrong(rejection.body_text())),
        }
    }
}

/// An alert was seen to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "by": "Ann", "comment": "Opening the damper of zone 2." }))]
pub(crate) struct Acknowledgement {
    /// Who does it. Only where nobody signs in.
    by: Option<String>,
    /// What there is to say.
    comment: Option<String>,
}

/// Something to say about an alert.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "by": "Ann", "comment": "The damper was stuck." }))]
pub(crate) struct Remark {
    /// Who says it. Only where nobody signs in.
    by: Option<String>,
    /// What there is to say.
    comment: String,
}

/// A kind of alert that is to call nobody on a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "by": "Ann", "line": "tunnel-1", "kind": "sensor-fault", "until": "2026-10-06T15:00:00Z",
    "reason": "The sensor of zone 3 is changed at three."
}))]
pub(crate) struct Quieting {
    /// Who wants it so. Only where nobody signs in.
    by: Option<String>,
    /// Id of the line.
    line: String,
    /// Kind of alert.
    kind: String,
    /// Until when it is shelved, RFC 3339; out of service without it.
    until: Option<String>,
    /// Why, so that the next shift knows.
    reason: String,
}

/// Who does something.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "by": "Ann" }))]
pub(crate) struct By {
    /// Who does it. Only where nobody signs in.
    pub(super) by: Option<String>,
}

/// A kind of alert that is to call nobody on a line, until a time or until it is put back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suppress {
    /// Id of the line.
    pub line: String,
    /// Kind of alert.
    pub kind: String,
    /// Until when it is shelved; out of service without it.
    pub until: Option<Moment>,
    /// Why.
    pub reason: String,
}

/// The name under which somebody does something.
pub(super) fn person(visitor: &Visitor, by: Option<String>) -> Result<Person, Problem> {
    match (visitor.name(), by) {
        (Some(name), Some(by)) if *name != *by => {
            Err(wrong(format!("You are signed in as {name:?}. Leave \"by\" out, or sign in as {by:?}.")))
        }
        (Some(name), _) => Ok(Person(name.into())),
        (None, Some(by)) if !by.trim().is_empty() && by.chars().count() <= 80 => {
            visitor.says(by.trim());
            Ok(Person(by.trim().into()))
        }
        (None, _) => Err(wrong("Nobody is named. Write who does it in \"by\", in at most 80 letters.")),
    }
}

/// What somebody has to say.
pub(super) fn something(name: &str, text: &str) -> Result<String, Problem> {
    match text.trim() {
        "" => Err(wrong(format!("\"{name}\" is empty. Write what there is to say, or leave it out where you may."))),
        text => Ok(text.into()),
    }
}

/// Acknowledges an alert: somebody sees to it.
#[utoipa::path(post, path = "/api/v1/alerts/{id}/acknowledge", tag = "alerts", request_body = Acknowledgement,
    params(("id" = String, Path, description = "Id of the alert")),
    responses((status = 200, body = AlertRecord), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn acknowledge(
    State(app): State<App>,
    visitor: Visitor,
    Names(id): Names<String>,
    Body(body): Body<Acknowledgement>,
) -> Result<Json<AlertRecord>, Problem> {
    let person = person(&visitor, body.by)?;
    let comment = body.comment.map(|comment| something("comment", &comment)).transpose()?;
    ask(&app, move |answers| answers.acknowledge(&person, &id, comment.as_deref())).await.map(Json)
}

/// Says something about an alert, also about one that is over.
#[utoipa::path(post, path = "/api/v1/alerts/{id}/comment", tag = "alerts", request_body = Remark,
    params(("id" = String, Path, description = "Id of the alert")),
    responses((status = 200, body = AlertRecord), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn comment(
    State(app): State<App>,
    visitor: Visitor,
    Names(id): Names<String>,
    Body(body): Body<Remark>,
) -> Result<Json<AlertRecord>, Problem> {
    let (person, text) = (person(&visitor, body.by)?, something("comment", &body.comment)?);
    ask(&app, move |answers| answers.comment(&person, &id, &text)).await.map(Json)
}

/// Kinds of alert that call nobody.
#[utoipa::path(get, path = "/api/v1/suppressions", tag = "alerts", responses((status = 200, body = Vec<SuppressionStatus>)))]
pub(crate) async fn suppressions(State(app): State<App>) -> Result<Json<Vec<SuppressionStatus>>, Problem> {
    ask(&app, |answers| answers.suppressions()).await.map(Json)
}

/// Keeps a kind of alert quiet on a line: on the shelf until a time, or out of service.
#[utoipa::path(post, path = "/api/v1/suppressions", tag = "alerts", request_body = Quieting,
    responses((status = 200, body = SuppressionStatus), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn suppress(
    State(app): State<App>,
    visitor: Visitor,
    Body(body): Body<Quieting>,
) -> Result<Json<SuppressionStatus>, Problem> {
    let person = person(&visitor, body.by)?;
    let what = Suppress {
        line: body.line,
        kind: body.kind,
        until: moment("until", body.until.as_deref())?,
        reason: something("reason", &body.reason)?,
    };
    ask(&app, move |answers| answers.suppress(&person, &what)).await.map(Json)
}

/// Lets a kind of alert call again on a line.
#[utoipa::path(delete, path = "/api/v1/suppressions/{line}/{kind}", tag = "alerts", request_body = By,
    params(("line" = String, Path, description = "Id of the line"), ("kind" = String, Path, description = "Kind of alert")),
    responses((status = 204, description = "It calls again."), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn release(
    State(app): State<App>,
    visitor: Visitor,
    Names((line, kind)): Names<(String, String)>,
    OptionalBody(body): OptionalBody<By>,
) -> Result<StatusCode, Problem> {
    let person = person(&visitor, body.by)?;
    ask(&app, move |answers| answers.release(&person, &line, &kind)).await.map(|()| StatusCode::NO_CONTENT)
}

/// Puts a normal into use; the one in use before is retired.
#[utoipa::path(post, path = "/api/v1/normals/{line}/{product}/{version}/approve", tag = "normals", request_body = By,
    params(("line" = String, Path, description = "Id of the line"), ("product" = String, Path, description = "Code of the product"),
        ("version" = u32, Path, description = "Version, from 1")),
    responses((status = 200, body = Normal), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn approve(
    State(app): State<App>,
    visitor: Visitor,
    Names((line, product, version)): Names<(String, String, u32)>,
    OptionalBody(body): OptionalBody<By>,
) -> Result<Json<Normal>, Problem> {
    let person = person(&visitor, body.by)?;
    ask(&app, move |answers| answers.approve_normal(&person, &format!("{line}/{product}/{version}"))).await.map(Json)
}

/// Takes a normal out of use, for good.
#[utoipa::path(post, path = "/api/v1/normals/{line}/{product}/{version}/retire", tag = "normals", request_body = By,
    params(("line" = String, Path, description = "Id of the line"), ("product" = String, Path, description = "Code of the product"),
        ("version" = u32, Path, description = "Version, from 1")),
    responses((status = 200, body = Normal), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn retire(
    State(app): State<App>,
    visitor: Visitor,
    Names((line, product, version)): Names<(String, String, u32)>,
    OptionalBody(body): OptionalBody<By>,
) -> Result<Json<Normal>, Problem> {
    let person = person(&visitor, body.by)?;
    ask(&app, move |answers| answers.retire_normal(&person, &format!("{line}/{product}/{version}"))).await.map(Json)
}
