//! What is kept, what is missing, and what could not be read.

use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::paging::Paging;
use super::parameters::{Parameters, period};
use super::{Page, ask};
use crate::problem::Problem;
use crate::serve::App;
use crate::status::RejectedCount;

/// A stretch of time of which readings are missing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "began": "2026-10-06T02:10:00Z", "ended": "2026-10-06T02:12:30Z", "cause": "broker-dropped", "lost": 412
}))]
pub struct Gap {
    /// Up to here everything was received.
    pub began: String,
    /// From here on it is again.
    pub ended: String,
    /// `session-lost`, `broker-dropped` or `sequence-broken`.
    pub cause: String,
    /// How many messages, where that is known.
    pub lost: Option<u64>,
}

/// What is kept and how much room it takes.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "readings": 214806112u64, "oldest": "2026-03-02T06:00:00Z", "newest": "2026-10-06T12:00:30Z", "hot_readings": 1284310,
    "hot_bytes": 48200000, "segments": 654, "sealed_readings": 213521802u64, "sealed_bytes": 137400000,
    "bytes_per_sealed_reading": 0.64, "outbox": 0
}))]
pub struct StoreSize {
    /// Readings kept.
    pub readings: u64,
    /// Time of the oldest.
    pub oldest: Option<String>,
    /// Time of the newest.
    pub newest: Option<String>,
    /// Readings not yet sealed.
    pub hot_readings: u64,
    /// Their size, bytes.
    pub hot_bytes: u64,
    /// Sealed files.
    pub segments: u64,
    /// Readings in them.
    pub sealed_readings: u64,
    /// Their size, bytes.
    pub sealed_bytes: u64,
    /// Bytes for each sealed reading.
    pub bytes_per_sealed_reading: Option<f64>,
    /// Messages that wait to be published.
    pub outbox: u64,
}

/// Payloads that gave no reading: how many for which reason, ever, and the newest of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Quarantine {
    /// How many were quarantined, by reason, those no longer kept included.
    pub counts: Vec<RejectedCount>,
    /// The newest that are kept, newest first.
    pub items: Vec<QuarantinedPayload>,
    /// The cursor of the next page; null on the last.
    pub next: Option<String>,
}

/// A payload that gave no reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "id": 17, "received": "2026-10-06T12:00:30Z", "topic": "mill/tunnel-1/z1/dew", "payload": "n/a", "bytes": 3,
    "reason": "not-a-number", "detail": "\"n/a\" is not a number"
}))]
pub struct QuarantinedPayload {
    /// Rises with each payload.
    pub id: i64,
    /// When it was received.
    pub received: String,
    /// On which topic.
    pub topic: String,
    /// Its beginning as text, what is no text replaced.
    pub payload: String,
    /// Its length, bytes.
    pub bytes: usize,
    /// The reason's name.
    pub reason: String,
    /// The reason in words.
    pub detail: String,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct GapParameters {
    /// Gaps that reach beyond this time, RFC 3339.
    from: Option<String>,
    /// Gaps that began before this time, RFC 3339.
    to: Option<String>,
    /// The most items to send.
    #[param(minimum = 1, maximum = 500, default = 100)]
    limit: Option<usize>,
    /// `next` of the page before.
    cursor: Option<String>,
}

/// Stretches of time of which readings are missing, as far as that is known, the newest first.
#[utoipa::path(get, path = "/api/v1/gaps", tag = "store", params(GapParameters),
    responses((status = 200, body = Page<Gap>), super::routes::WrongRequest))]
pub(crate) async fn gaps(
    State(app): State<App>,
    Parameters(asked): Parameters<GapParameters>,
) -> Result<Json<Page<Gap>>, Problem> {
    let period = period(asked.from.as_deref(), asked.to.as_deref())?;
    let gaps = ask(&app, move |answers| answers.gaps(period)).await?;
    let paging = Paging { limit: asked.limit, cursor: asked.cursor };
    paging.cut(gaps, |gap| format!("{} {}", gap.began, gap.cause)).map(Json)
}

/// What is kept and how much room it takes.
#[utoipa::path(get, path = "/api/v1/store", tag = "store", responses((status = 200, body = StoreSize)))]
pub(crate) async fn store(State(app): State<App>) -> Result<Json<StoreSize>, Problem> {
    ask(&app, |answers| answers.store()).await.map(Json)
}

/// Payloads that gave no reading, the newest first.
#[utoipa::path(get, path = "/api/v1/quarantine", tag = "store", params(Paging),
    responses((status = 200, body = Quarantine), super::routes::WrongRequest))]
pub(crate) async fn quarantine(
    State(app): State<App>,
    Parameters(paging): Parameters<Paging>,
) -> Result<Json<Quarantine>, Problem> {
    let quarantine = ask(&app, |answers| answers.quarantine()).await?;
    let page = paging.cut(quarantine.items, |payload| payload.id.to_string())?;
    Ok(Json(Quarantine { items: page.items, next: page.next, counts: quarantine.counts }))
}
