//! A rate change reviewed before it is made: what the oven will hold at another speed, and what can be done.

use axum::Json;
use axum::extract::State;
use axum::response::Response;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::ask;
use super::parameters::{Parameters, wrong};
use crate::problem::Problem;
use crate::serve::App;
use crate::sheet::sheet;

/// Which rate change is to be reviewed.
#[derive(Debug, Clone, PartialEq)]
pub struct RateQuestion {
    /// Id of the line.
    pub line: String,
    /// Code of the product.
    pub product: String,
    /// What is asked for.
    pub asked: Rate,
}

/// A rate, by either of its names. The number is above 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rate {
    /// Band speed, m/min.
    Speed(f64),
    /// Time in the oven, min.
    BakeTime(f64),
}

impl Rate {
    /// The one that is named.
    pub(super) fn named(speed_m_min: Option<f64>, bake_time_min: Option<f64>) -> Result<Self, Problem> {
        let (name, value, rate) = match (speed_m_min, bake_time_min) {
            (Some(speed), None) => ("speed_m_min", speed, Self::Speed(speed)),
            (None, Some(minutes)) => ("bake_time_min", minutes, Self::BakeTime(minutes)),
            _ => return Err(wrong("Write either \"speed_m_min\" or \"bake_time_min\", such as speed_m_min 1.4.")),
        };
        if value.is_finite() && value > 0.0 {
            return Ok(rate);
        }
        Err(wrong(format!("\"{name}\" is {value}. Write a number above 0.")))
    }
}

/// What an oven will hold at another speed, how likely moisture is carried over, and what can be done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "balance": "tunnel-1/T800/3", "normal": "tunnel-1/T800/3", "currency": "GBP", "speed_m_min": 1.4, "bake_time_min": 20.0,
    "usual_speed_m_min": 1.17, "outside_history_pct": 4.2, "outside_normal_pct": 4.2,
    "usual": {
        "speed_m_min": 1.17, "zones": [{ "zone": 1, "moisture_pct": 38.0, "low_pct": 36.1, "high_pct": 39.9 }],
        "carryover_chance_pct": 2.0, "bake_loss_pct": 10.5, "energy": { "heat_kw": 310.0, "bought_kwh_h": 402.0, "bought_kwh_t": 330.0,
            "good_t_h": 1.22, "cost_per_h": 18.1, "margin_per_h": 170.8 }
    },
    "untouched": {
        "speed_m_min": 1.4, "zones": [{ "zone": 1, "moisture_pct": 43.1, "low_pct": 40.8, "high_pct": 45.5 }],
        "carryover_chance_pct": 61.0, "bake_loss_pct": 9.4, "energy": { "heat_kw": 352.0, "bought_kwh_h": 455.0, "bought_kwh_t": 312.0,
            "good_t_h": 1.46, "cost_per_h": 20.5, "margin_per_h": 204.4 }
    },
    "practised": {
        "speed_m_min": 1.4, "zones": [{ "zone": 1, "moisture_pct": 41.7, "low_pct": 39.6, "high_pct": 43.9 }],
        "carryover_chance_pct": 34.0, "bake_loss_pct": 9.5, "energy": { "heat_kw": 361.0, "bought_kwh_h": 466.0, "bought_kwh_t": 319.0,
            "good_t_h": 1.46, "cost_per_h": 21.0, "margin_per_h": 204.4 }
    },
    "by_normal": [{ "zone": 1, "moisture_pct": 41.2, "low_pct": 38.9, "high_pct": 43.6 }],
    "ceilings": [{ "zone": 3, "moisture_pct": 6.1, "from": "upper end of the normal at this speed" }],
    "steam_exposure_s": 51.4,
    "carried": { "untouched_m_min": 1.24, "exhaust_open_m_min": 1.36, "accepted_chance_pct": 15.0 },
    "remedies": [{
        "kind": "open-exhaust", "settings": [{ "zone": 2, "of": "exhaust damper, %", "from": 45.0, "to": 58.0 }],
        "zones_alone": [{
            "setting": { "zone": 2, "of": "exhaust damper, %", "from": 45.0, "to": 66.0 }, "moisture_pct": [40.9],
            "carryover_chance_pct": 15.0, "suffices": true, "further_kwh_h": 26.0
        }],
        "profile": {
            "speed_m_min": 1.4, "zones": [{ "zone": 1, "moisture_pct": 40.2, "low_pct": 38.0, "high_pct": 42.4 }],
            "carryover_chance_pct": 14.0, "bake_loss_pct": 9.6, "energy": { "heat_kw": 371.0, "bought_kwh_h": 478.0, "bought_kwh_t": 327.0,
                "good_t_h": 1.46, "cost_per_h": 21.5, "margin_per_h": 204.4 }
        },
        "suffices": true, "further_kwh_h": 23.0, "lost_t_h": 0.0, "lost_margin_per_h": 0.0, "capital": 0.0,
        "capital_per_year": 0.0, "net_gain_per_year": 36120.0, "reason": "the least further energy of those that suffice",
        "caution": "The oven maker's least and greatest draught hold; burners need their air and the hall its pressure."
    }],
    "untold": [], "not_configured": [],
    "caution": "Advice only. Exhaust, burner and steam settings belong to the oven maker's limits, the plant's licensed people and local codes; whether bread is baked through is validated elsewhere, never read off humidity."
}))]
pub struct RateReview {
    /// Id of the water balance that answers.
    pub balance: String,
    /// Id of the normal it is held against.
    pub normal: Option<String>,
    /// ISO 4217 code of all that is money here.
    pub currency: Option<String>,
    /// Band speed asked for, m/min.
    pub speed_m_min: f64,
    /// Time in the oven at that speed, min.
    pub bake_time_min: f64,
    /// The usual speed: the middle of history, m/min.
    pub usual_speed_m_min: f64,
    /// By how much the speed lies outside the balance's history, %; above 0 the answer is extrapolated.
    pub outside_history_pct: f64,
    /// By how much it lies outside the normal's speeds, %.
    pub outside_normal_pct: Option<f64>,
    /// At the usual speed, as usually run.
    pub usual: RateProfile,
    /// At the speed asked for, nothing touched but the band.
    pub untouched: RateProfile,
    /// At the speed asked for, dampers and steam as the crews in history would have them.
    pub practised: RateProfile,
    /// The learned normal's own answer at that speed, of how the oven is run when it is run well.
    pub by_normal: Option<Vec<ForetoldZone>>,
    /// Late zones and what they may hold.
    pub ceilings: Vec<ZoneCeiling>,
    /// Time that dough meets the steam at that speed, s.
    pub steam_exposure_s: Option<f64>,
    /// The highest speeds that this oven carries.
    pub carried: CarriedSpeeds,
    /// What can be done, best first.
    pub remedies: Vec<Remedy>,
    /// What the history cannot tell, in words.
    pub untold: Vec<String>,
    /// What is not configured, and what would be shown with it.
    pub not_configured: Vec<String>,
    /// What goes with it.
    pub caution: String,
}

/// What the zones hold in one way of running, and what it takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RateProfile {
    /// Band speed, m/min.
    pub speed_m_min: f64,
    /// What the zones hold.
    pub zones: Vec<ForetoldZone>,
    /// The chance that a late zone is above its ceiling, %.
    pub carryover_chance_pct: f64,
    /// What the dough loses, % of its mass: what it keeps is sold.
    pub bake_loss_pct: f64,
    /// What it takes.
    pub energy: RateEnergy,
}

/// What one zone will hold.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ForetoldZone {
    /// The zone, from 1.
    pub zone: usize,
    /// Moisture, % vol.
    pub moisture_pct: f64,
    /// Lower end of the band, % vol: 90 of 100 of the balance, 95 of 100 of the normal.
    pub low_pct: f64,
    /// Upper end of the band, % vol.
    pub high_pct: f64,
}

/// What a way of running takes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RateEnergy {
    /// Heat that the zones need, kW.
    pub heat_kw: f64,
    /// Energy bought for oven and steam, kWh an hour; gas by its gross calorific value.
    pub bought_kwh_h: f64,
    /// The same for a tonne of good product, kWh/t.
    pub bought_kwh_t: f64,
    /// Good product, t/h.
    pub good_t_h: f64,
    /// What the energy costs an hour.
    pub cost_per_h: Option<f64>,
    /// What the output earns an hour, before energy.
    pub margin_per_h: Option<f64>,
}

/// The most that a late zone may hold before moisture counts as carried over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ZoneCeiling {
    /// The zone, from 1.
    pub zone: usize,
    /// Moisture, % vol.
    pub moisture_pct: f64,
    /// Where it comes from.
    pub from: String,
}

/// The highest speeds that keep the chance of carryover low, m/min.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CarriedSpeeds {
    /// With nothing touched but the band; null if not even the usual speed.
    pub untouched_m_min: Option<f64>,
    /// With the exhaust opened as far as it goes.
    pub exhaust_open_m_min: Option<f64>,
    /// The chance of carryover that is accepted, %.
    pub accepted_chance_pct: f64,
}

/// One thing that can be done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Remedy {
    /// What kind.
    pub kind: RemedyKind,
    /// What is to be set.
    pub settings: Vec<RemedySetting>,
    /// Where each zone is set apart: what setting one of them alone does.
    pub zones_alone: Vec<ZoneAlone>,
    /// What the oven then holds and takes.
    pub profile: RateProfile,
    /// Whether every late zone is then likely enough under its ceiling.
    pub suffices: bool,
    /// Energy bought beyond that of the same speed untouched, kWh an hour.
    pub further_kwh_h: f64,
    /// Good product less than at the same speed untouched, t/h: a slower band, or a greater bake loss.
    pub lost_t_h: f64,
    /// What that would have earned an hour.
    pub lost_margin_per_h: Option<f64>,
    /// What has to be built.
    pub capital: Option<f64>,
    /// The same a year.
    pub capital_per_year: Option<f64>,
    /// Earned a year beyond the usual speed: margin less energy less capital.
    pub net_gain_per_year: Option<f64>,
    /// Why it stands where it stands.
    pub reason: String,
    /// What to mind.
    pub caution: String,
}

/// What kind of thing can be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RemedyKind {
    /// Inject less steam.
    ShortenSteam,
    /// Let more moisture out.
    OpenExhaust,
    /// Run the band slower than asked for.
    SlowBand,
    /// Dry earlier.
    RaiseTemperature,
    /// Build a longer oven.
    AddZone,
}

/// What is set in one zone while the others stay as they are, as far as it must go or as far as it can.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ZoneAlone {
    /// What is to be set there.
    pub setting: RemedySetting,
    /// What the zones then hold, % vol.
    pub moisture_pct: Vec<f64>,
    /// The chance that a late zone is above its ceiling, %.
    pub carryover_chance_pct: f64,
    /// Whether that is little enough.
    pub suffices: bool,
    /// Energy bought beyond that of the same speed untouched, kWh an hour.
    pub further_kwh_h: f64,
}

/// What is to be set, and from what.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RemedySetting {
    /// The zone, from 1; null for the whole line.
    pub zone: Option<usize>,
    /// Of what, with its unit.
    pub of: String,
    /// Now.
    pub from: f64,
    /// To try.
    pub to: f64,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct RateQuestionParameters {
    /// Id of the line.
    line: String,
    /// Code of the product.
    product: String,
    /// Band speed asked for, m/min.
    speed_m_min: Option<f64>,
    /// Or the time in the oven asked for, min.
    bake_time_min: Option<f64>,
}

impl RateQuestionParameters {
    fn question(self) -> Result<RateQuestion, Problem> {
        let asked = Rate::named(self.speed_m_min, self.bake_time_min)?;
        Ok(RateQuestion { line: self.line, product: self.product, asked })
    }
}

/// The review of a rate change before anything is proposed. 409 where nothing is learned that could answer: the detail
/// says what is missing, and what can be said all the same.
#[utoipa::path(get, path = "/api/v1/rate-changes/review", tag = "rate changes", params(RateQuestionParameters),
    responses((status = 200, body = RateReview), super::routes::NoSuchThing, super::routes::WrongRequest, super::routes::Refused))]
pub(crate) async fn review(
    State(app): State<App>,
    Parameters(asked): Parameters<RateQuestionParameters>,
) -> Result<Json<RateReview>, Problem> {
    let question = asked.question()?;
    ask(&app, move |answers| answers.rate_review(&question)).await.map(Json)
}

/// The same as a sheet to print and sign.
pub(crate) async fn review_sheet(
    State(app): State<App>,
    Parameters(asked): Parameters<RateQuestionParameters>,
) -> Result<Response, Problem> {
    let question = asked.question()?;
    ask(&app, move |answers| answers.rate_sheet(&question)).await.map(sheet)
}
