//! Alerts, what was done about them, and how often they call.

use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::paging::Paging;
use super::parameters::{Names, Parameters, period};
use super::{Page, Period, ask};
use crate::problem::Problem;
use crate::serve::App;

/// Which alerts are asked for; what is not set does not matter.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct AlertQuery {
    /// When they were raised.
    pub period: Period,
    /// Id of the line.
    pub line: Option<String>,
    /// The state.
    pub state: Option<String>,
    /// Only those that stand.
    pub standing: bool,
    /// Only what comes after the alert of this id in the list.
    pub after: Option<String>,
    /// At most so many.
    pub limit: usize,
}

/// An alert, whole: as it is published, stored and shown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "id": "01K6XJ7Q0B0000000000000000", "site": "millbrook", "line": "tunnel-1", "kind": "unmatched-speed-rise",
    "finding": "carryover", "priority": "high", "state": "unacknowledged", "product": "T800",
    "began": "2026-10-06T13:02:00Z", "raised": "2026-10-06T13:09:00Z", "ended": null,
    "speed": { "before": 1.24, "after": 1.41, "rise_pct": 13.7, "unit": "m/min" },
    "zones": [{ "zone": 3, "before": 4.8, "observed": 6.2, "expected": 4.9, "low": 4.1, "high": 5.7, "unit": "% vol", "z": 3.2 }],
    "confidence": 0.998, "normal": "tunnel-1/T800/3",
    "message": "Band up 13.7 % at 14:02; zone 3 holds 6.2 % vol, 1.3 above what such a rise makes here.",
    "advice": [{ "step": "open-exhaust", "text": "Open the exhaust damper of zone 2 to 58 %.", "zone": 2, "to_pct": 58.0 }],
    "caution": "Advice only. Keep to the oven maker's limits.", "acknowledged_by": null, "acknowledged_at": null,
    "suppression": null, "comments": []
}))]
pub struct Alert {
    /// Made of what it is about and when it was raised.
    pub id: String,
    /// Id of the site.
    pub site: String,
    /// Id of the line.
    pub line: String,
    /// `unmatched-speed-rise`, `departs-from-normal`, `over-steaming`, `zone3-limit` or `sensor-fault`.
    pub kind: String,
    /// What is wrong.
    pub finding: String,
    /// `high` or `medium`.
    pub priority: String,
    /// Where it stands in its life (ISA-18.2): `unacknowledged`, `acknowledged`, `returned-to-normal`, `shelved`, …
    pub state: String,
    /// Code of the product in the oven.
    pub product: Option<String>,
    /// When the cause began.
    pub began: String,
    /// When the evidence sufficed.
    pub raised: String,
    /// When the evidence was gone; null while it stands.
    pub ended: Option<String>,
    /// The rise of the band speed, if there was one.
    pub speed: Option<SpeedChange>,
    /// The evidence, zone by zone.
    pub zones: Vec<ZoneEvidence>,
    /// Tags of the signals it is about, where it is about signals.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub signals: Vec<String>,
    /// 1 − the chance of such evidence from a rise that was met by practice.
    pub confidence: Option<f64>,
    /// Id of the normal it was held against.
    pub normal: Option<String>,
    /// What happened, in one sentence.
    pub message: String,
    /// What to try, first things first.
    pub advice: Vec<Advice>,
    /// What goes with every advice.
    pub caution: String,
    /// Who has acknowledged it.
    #[serde(default)]
    pub acknowledged_by: Option<String>,
    /// When.
    #[serde(default)]
    pub acknowledged_at: Option<String>,
    /// What keeps it from calling.
    #[serde(default)]
    pub suppression: Option<AlertSuppression>,
    /// What people said.
    #[serde(default)]
    pub comments: Vec<AlertComment>,
}

/// A change of the band speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SpeedChange {
    /// Level before.
    pub before: f64,
    /// Level now.
    pub after: f64,
    /// By how much of the level before, %.
    pub rise_pct: f64,
    /// Always `m/min`.
    pub unit: String,
}

/// What one zone did, in moisture by volume.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ZoneEvidence {
    /// The zone, from 1.
    pub zone: usize,
    /// Before the rise.
    pub before: Option<f64>,
    /// As it was judged.
    pub observed: f64,
    /// What practice makes of the rise, or the limit.
    pub expected: f64,
    /// Lower end of the band that holds 95 of 100.
    pub low: Option<f64>,
    /// Its upper end.
    pub high: Option<f64>,
    /// Always `% vol`.
    pub unit: String,
    /// Departure in standard deviations.
    pub z: Option<f64>,
}

/// One thing to try.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Advice {
    /// Which step, such as `open-exhaust`.
    pub step: String,
    /// In words.
    pub text: String,
    /// Which zone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<usize>,
    /// Opening to try, %.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_pct: Option<f64>,
    /// Band speed to try, m/min.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_m_min: Option<f64>,
}

/// What keeps an alert from calling.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AlertSuppression {
    /// Since when.
    pub since: String,
    /// Until when it is shelved; out of service without it.
    pub until: Option<String>,
    /// Why.
    pub reason: String,
    /// Who wanted it so.
    pub by: String,
}

/// What somebody said about an alert.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AlertComment {
    /// Who.
    pub by: String,
    /// When.
    pub at: String,
    /// What.
    pub text: String,
}

/// An alert with what was done about it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct AlertRecord {
    /// The alert.
    pub alert: Alert,
    /// Every change of its state, in order of time.
    pub history: Vec<AlertChange>,
    /// The review behind the rise of the band speed; null for an alert that is about none.
    pub review: Option<AlertReview>,
}

/// The review behind a rise of the band speed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({ "rate_change": "tunnel-1/rate/3", "words": "reviewed in tunnel-1/rate/3, proposed by Ann" }))]
pub struct AlertReview {
    /// Id of the rate change that was agreed before the rise; null where there is none.
    pub rate_change: Option<String>,
    /// The same in words.
    pub words: String,
}

/// One change of an alert's state.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({ "time": "2026-10-06T13:12:00Z", "who": "Ann", "what": "acknowledged", "state": "acknowledged" }))]
pub struct AlertChange {
    /// When.
    pub time: String,
    /// Who did it: a person, or the service itself.
    pub who: String,
    /// What was done, with the reason where one was given.
    pub what: String,
    /// The alert's state from then on.
    pub state: String,
}

/// How often alerts called on a line in a shift, against the targets of ISA-18.2.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "line": "tunnel-1", "date": "2026-10-06", "shift": "early", "calls": 3, "high": 1, "per_hour": 0.38,
    "most_in_ten_minutes": 2, "flood_share": 0.0, "stale": 0, "missed": []
}))]
pub struct AlertRates {
    /// Id of the line.
    pub line: String,
    /// Local date on which the shift began.
    pub date: String,
    /// Name of the shift.
    pub shift: String,
    /// Alerts that called.
    pub calls: usize,
    /// Of those, high ones.
    pub high: usize,
    /// Calls an hour.
    pub per_hour: f64,
    /// Most calls within any ten minutes.
    pub most_in_ten_minutes: usize,
    /// Share of the ten minutes that were a flood, 0 to 1.
    pub flood_share: f64,
    /// Alerts that were stale at the end of the shift.
    pub stale: usize,
    /// Targets that are missed, a few words each.
    pub missed: Vec<String>,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct AlertParameters {
    /// Raised at this time or later, RFC 3339.
    from: Option<String>,
    /// Raised before this time, RFC 3339.
    to: Option<String>,
    /// Id of the line.
    line: Option<String>,
    /// Only in this state, such as `unacknowledged`.
    state: Option<String>,
    /// Only those that stand.
    standing: Option<bool>,
    /// The most items to send.
    #[param(minimum = 1, maximum = 500, default = 100)]
    limit: Option<usize>,
    /// `next` of the page before.
    cursor: Option<String>,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct RateParameters {
    /// From this time on, RFC 3339; without it, the seven days before `to`.
    from: Option<String>,
    /// Before this time, RFC 3339; without it, now.
    to: Option<String>,
    /// The most items to send.
    #[param(minimum = 1, maximum = 500, default = 100)]
    limit: Option<usize>,
    /// `next` of the page before.
    cursor: Option<String>,
}

/// Alerts, standing and past, the newest first.
#[utoipa::path(get, path = "/api/v1/alerts", tag = "alerts", params(AlertParameters),
    responses((status = 200, body = Page<Alert>), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn alerts(
    State(app): State<App>,
    Parameters(asked): Parameters<AlertParameters>,
) -> Result<Json<Page<Alert>>, Problem> {
    let period = period(asked.from.as_deref(), asked.to.as_deref())?;
    let limit = Paging { limit: asked.limit, cursor: None }.limit()?;
    let standing = asked.standing.unwrap_or(false);
    // Alerts are kept for years: the store cuts the page.
    let (line, state, after) = (asked.line, asked.state, asked.cursor);
    let query = AlertQuery { period, line, state, standing, after, limit: limit + 1 };
    let alerts = ask(&app, move |answers| answers.alerts(&query)).await?;
    Ok(Json(Page::of_one_more(alerts, limit, |alert| alert.id.clone())))
}

/// One alert with its evidence, and who did what about it.
#[utoipa::path(get, path = "/api/v1/alerts/{id}", tag = "alerts",
    params(("id" = String, Path, description = "Id of the alert")),
    responses((status = 200, body = AlertRecord), super::routes::NoSuchThing))]
pub(crate) async fn alert(State(app): State<App>, Names(id): Names<String>) -> Result<Json<AlertRecord>, Problem> {
    ask(&app, move |answers| answers.alert(&id)).await.map(Json)
}

/// How often alerts called, by line and shift, against the targets of ISA-18.2; the newest shift first.
#[utoipa::path(get, path = "/api/v1/alerts/rates", tag = "alerts", params(RateParameters),
    responses((status = 200, body = Page<AlertRates>), super::routes::WrongRequest))]
pub(crate) async fn rates(
    State(app): State<App>,
    Parameters(asked): Parameters<RateParameters>,
) -> Result<Json<Page<AlertRates>>, Problem> {
    let period = period(asked.from.as_deref(), asked.to.as_deref())?;
    let rates = ask(&app, move |answers| answers.alert_rates(period)).await?;
    let paging = Paging { limit: asked.limit, cursor: asked.cursor };
    paging.cut(rates, |rates| format!("{} {} {}", rates.date, rates.shift, rates.line)).map(Json)
}
