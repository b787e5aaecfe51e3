//! Rate changes from proposal to what came of them.

use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::change::{Body, By, OptionalBody, person, something};
use super::paging::Paging;
use super::parameters::{Names, Parameters, moment};
use super::rate_review::{ForetoldZone, Rate, RateQuestion, RemedyKind};
use super::{Moment, Page, ask};
use crate::problem::Problem;
use crate::serve::App;
use crate::sign_in::Visitor;

/// A rate change and what became of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "id": "tunnel-1/rate/3", "line": "tunnel-1", "product": "T800", "from_m_min": 1.17, "to_m_min": 1.3, "remedy": "open-exhaust",
    "reason": "The order of June.", "balance": "tunnel-1/T800/3",
    "foretold": [{ "zone": 1, "moisture_pct": 40.2, "low_pct": 38.0, "high_pct": 42.4 }], "carryover_chance_pct": 14.0,
    "proposed": { "by": "Ann", "at": "2026-10-01T09:00:00Z" },
    "agreed": [{ "role": "production", "signed": { "by": "Ben", "at": "2026-10-01T10:00:00Z" } },
        { "role": "process", "signed": { "by": "Ann", "at": "2026-10-01T10:05:00Z" } },
        { "role": "maintenance", "signed": { "by": "Cem", "at": "2026-10-01T11:00:00Z" } }],
    "made": { "by": "Ben", "at": "2026-10-02T06:30:00Z" },
    "outcome": {
        "looked": { "by": "Ann", "at": "2026-10-03T07:00:00Z" }, "hours": 15.5,
        "zones": [{ "foretold": { "zone": 1, "moisture_pct": 40.2, "low_pct": 38.0, "high_pct": 42.4 }, "came_pct": 39.6, "inside": true }]
    },
    "state": "looked-at", "not_agreed": [], "look_from": "2026-10-03T06:30:00Z"
}))]
pub struct RateChange {
    /// Its id: line and number.
    pub id: String,
    /// Id of the line.
    pub line: String,
    /// Code of the product.
    pub product: String,
    /// Usual speed when it was proposed, m/min.
    pub from_m_min: f64,
    /// Speed proposed, m/min.
    pub to_m_min: f64,
    /// With which remedy; null if nothing but the band is to be touched.
    pub remedy: Option<RemedyKind>,
    /// What for.
    pub reason: String,
    /// Id of the water balance that was asked.
    pub balance: String,
    /// What it foretold.
    pub foretold: Vec<ForetoldZone>,
    /// The chance of carryover that it foretold, %.
    pub carryover_chance_pct: f64,
    /// Who proposed it, and when.
    pub proposed: Signature,
    /// Who has agreed.
    pub agreed: Vec<Agreement>,
    /// Who made it, and when.
    pub made: Option<Signature>,
    /// What came of it.
    pub outcome: Option<RateOutcome>,
    /// How far it has come.
    pub state: RateChangeState,
    /// Who still has to agree.
    pub not_agreed: Vec<Party>,
    /// From when on what came can be looked at: a day after it was made.
    pub look_from: Option<String>,
}

/// How far a rate change has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RateChangeState {
    /// Not everybody has agreed.
    Proposed,
    /// Everybody has agreed.
    Agreed,
    /// The band runs at the new speed.
    Made,
    /// What came of it has been looked at.
    LookedAt,
}

/// Who has to agree to a rate change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Party {
    /// Those who need the output.
    Production,
    /// Those who answer for the product and the oven's settings.
    Process,
    /// Those who keep the oven, its burners and fans.
    Maintenance,
}

/// Somebody, at a time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Signature {
    /// Who.
    pub by: String,
    /// When.
    pub at: String,
}

/// An agreement.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Agreement {
    /// For whom.
    pub role: Party,
    /// Who and when.
    pub signed: Signature,
}

/// What came of a rate change.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RateOutcome {
    /// Who looked, and when.
    pub looked: Signature,
    /// Hours at rest at the new speed that it rests on.
    pub hours: f64,
    /// Zone by zone.
    pub zones: Vec<ZoneOutcome>,
}

/// A zone a day after a rate change.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ZoneOutcome {
    /// What was foretold.
    pub foretold: ForetoldZone,
    /// What came: the mean at rest at the new speed, % vol.
    pub came_pct: f64,
    /// Whether that lies in the band.
    pub inside: bool,
}

/// A rate change that somebody proposes.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// What is asked for.
    pub question: RateQuestion,
    /// With which remedy; nothing but the band is touched without one.
    pub remedy: Option<RemedyKind>,
    /// What for.
    pub reason: String,
}

/// A rate change to be proposed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "by": "Ann", "line": "tunnel-1", "product": "T800", "speed_m_min": 1.3, "remedy": "open-exhaust", "reason": "The order of June."
}))]
pub(crate) struct Proposed {
    /// Who proposes it. Only where nobody signs in.
    by: Option<String>,
    /// Id of the line.
    line: String,
    /// Code of the product.
    product: String,
    /// Band speed, m/min.
    speed_m_min: Option<f64>,
    /// Or time in the oven, min.
    bake_time_min: Option<f64>,
    /// With which remedy of its review; nothing but the band is touched without one.
    remedy: Option<RemedyKind>,
    /// What for; it is kept with the record.
    reason: String,
}

/// Somebody agrees.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "by": "Cem", "role": "maintenance" }))]
pub(crate) struct Agreeing {
    /// Who agrees. Only where nobody signs in.
    by: Option<String>,
    /// For whom.
    role: Party,
}

/// Somebody has made a rate change.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "by": "Ben", "at": "2026-10-02T06:30:00Z" }))]
pub(crate) struct Made {
    /// Who made it. Only where nobody signs in.
    by: Option<String>,
    /// When the band came to run at the new speed, RFC 3339; now without it.
    at: Option<String>,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct RateChangeParameters {
    /// Id of the line.
    line: Option<String>,
    /// Only those that have come so far.
    state: Option<RateChangeState>,
    /// The most items to send.
    #[param(minimum = 1, maximum = 500, default = 100)]
    limit: Option<usize>,
    /// `next` of the page before.
    cursor: Option<String>,
}

/// The records of rate changes, the newest first.
#[utoipa::path(get, path = "/api/v1/rate-changes", tag = "rate changes", params(RateChangeParameters),
    responses((status = 200, body = Page<RateChange>), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn rate_changes(
    State(app): State<App>,
    Parameters(asked): Parameters<RateChangeParameters>,
) -> Result<Json<Page<RateChange>>, Problem> {
    let (line, state) = (asked.line, asked.state);
    let mut changes = ask(&app, move |answers| answers.rate_changes(line.as_deref())).await?;
    changes.retain(|change| state.is_none_or(|state| change.state == state));
    let paging = Paging { limit: asked.limit, cursor: asked.cursor };
    paging.cut(changes, |change| change.id.clone()).map(Json)
}

/// The record of one rate change.
#[utoipa::path(get, path = "/api/v1/rate-changes/{line}/{number}", tag = "rate changes",
    params(("line" = String, Path, description = "Id of the line"), ("number" = u32, Path, description = "Number of the record, from 1")),
    responses((status = 200, body = RateChange), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn rate_change(
    State(app): State<App>,
    Names((line, number)): Names<(String, u32)>,
) -> Result<Json<RateChange>, Problem> {
    ask(&app, move |answers| answers.rate_change(&id(&line, number))).await.map(Json)
}

/// Proposes a rate change: what its review foretells is kept, for others to agree to.
#[utoipa::path(post, path = "/api/v1/rate-changes", tag = "rate changes", request_body = Proposed,
    responses((status = 200, body = RateChange), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn propose(
    State(app): State<App>,
    visitor: Visitor,
    Body(body): Body<Proposed>,
) -> Result<Json<RateChange>, Problem> {
    let person = person(&visitor, body.by)?;
    let asked = Rate::named(body.speed_m_min, body.bake_time_min)?;
    let question = RateQuestion { line: body.line, product: body.product, asked };
    let proposal = Proposal { question, remedy: body.remedy, reason: something("reason", &body.reason)? };
    ask(&app, move |answers| answers.propose_rate_change(&person, &proposal)).await.map(Json)
}

/// Agrees to a rate change for production, process or maintenance.
#[utoipa::path(post, path = "/api/v1/rate-changes/{line}/{number}/agree", tag = "rate changes", request_body = Agreeing,
    params(("line" = String, Path, description = "Id of the line"), ("number" = u32, Path, description = "Number of the record, from 1")),
    responses((status = 200, body = RateChange), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn agree(
    State(app): State<App>,
    visitor: Visitor,
    Names((line, number)): Names<(String, u32)>,
    Body(body): Body<Agreeing>,
) -> Result<Json<RateChange>, Problem> {
    let person = person(&visitor, body.by)?;
    ask(&app, move |answers| answers.agree_to_rate_change(&person, &id(&line, number), body.role)).await.map(Json)
}

/// Says that the band now runs so; all three must have agreed.
#[utoipa::path(post, path = "/api/v1/rate-changes/{line}/{number}/made", tag = "rate changes", request_body = Made,
    params(("line" = String, Path, description = "Id of the line"), ("number" = u32, Path, description = "Number of the record, from 1")),
    responses((status = 200, body = RateChange), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn made(
    State(app): State<App>,
    visitor: Visitor,
    Names((line, number)): Names<(String, u32)>,
    OptionalBody(body): OptionalBody<Made>,
) -> Result<Json<RateChange>, Problem> {
    let person = person(&visitor, body.by)?;
    let at: Option<Moment> = moment("at", body.at.as_deref())?;
    ask(&app, move |answers| answers.make_rate_change(&person, &id(&line, number), at)).await.map(Json)
}

/// Holds what was foretold against what came, a day after it was made.
#[utoipa::path(post, path = "/api/v1/rate-changes/{line}/{number}/follow-up", tag = "rate changes", request_body = By,
    params(("line" = String, Path, description = "Id of the line"), ("number" = u32, Path, description = "Number of the record, from 1")),
    responses((status = 200, body = RateChange), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn follow_up(
    State(app): State<App>,
    visitor: Visitor,
    Names((line, number)): Names<(String, u32)>,
    OptionalBody(body): OptionalBody<By>,
) -> Result<Json<RateChange>, Problem> {
    let person = person(&visitor, body.by)?;
    ask(&app, move |answers| answers.look_at_rate_change(&person, &id(&line, number))).await.map(Json)
}

/// The id of a record, as it stands in it.
fn id(line: &str, number: u32) -> String {
    format!("{line}/rate/{number}")
}
