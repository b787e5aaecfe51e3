//! The figures of a line over time, column by column.

use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::parameters::{Names, Parameters, period, wrong};
use super::{Period, ask};
use crate::problem::Problem;
use crate::serve::App;

/// Which history.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HistoryQuery {
    /// From when to when; without an end, up to the newest.
    pub period: Period,
    /// Length of a step, s; without it, as short as the size of the answer allows.
    pub step_s: Option<f64>,
}

/// The figures of a line over time: columns of equal length, null where nothing was measured.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "line": "tunnel-1", "from": "2026-10-06T12:00:00Z", "to": "2026-10-06T12:01:00Z", "step_s": 30.0,
    "time": ["2026-10-06T12:00:00Z", "2026-10-06T12:00:30Z"], "state": ["baking", "baking"], "product": ["T800", "T800"],
    "band_speed_m_min": [1.24, 1.25], "steam_kg_h": [118.0, null], "steam_valve_pct": [null, null],
    "zones": [{
        "zone": 1, "air_temperature_c": [232.1, 232.0], "dew_point_c": [75.4, 75.5], "moisture_pct": [38.0, 38.2],
        "humidity_ratio": [0.381, 0.384], "exhaust_damper_pct": [35.0, 35.0]
    }],
    "rises": [{ "began": "2026-10-06T12:00:00Z", "before_m_min": 1.1, "after_m_min": 1.25, "rise_pct": 13.6 }]
}))]
pub struct History {
    /// Id of the line.
    pub line: String,
    /// The first moment.
    pub from: String,
    /// The first moment after it.
    pub to: String,
    /// Length of a step, s.
    pub step_s: f64,
    /// When each step begins.
    pub time: Vec<String>,
    /// `baking`, `gap`, `changeover`, `heating` or `stopped`, as the step ended.
    pub state: Vec<String>,
    /// Code of the product in the oven.
    pub product: Vec<Option<String>>,
    /// Mean band speed, m/min.
    pub band_speed_m_min: Vec<Option<f64>>,
    /// Mean steam flow, kg/h.
    pub steam_kg_h: Vec<Option<f64>>,
    /// Mean opening of the steam valve, %.
    pub steam_valve_pct: Vec<Option<f64>>,
    /// Zone by zone, in the direction of travel.
    pub zones: Vec<ZoneHistory>,
    /// Rises of the band speed that began in this time.
    pub rises: Vec<Rise>,
}

/// The figures of one zone over time.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ZoneHistory {
    /// The zone, from 1.
    pub zone: usize,
    /// Mean air temperature, °C.
    pub air_temperature_c: Vec<Option<f64>>,
    /// Dew point at the mean humidity, °C.
    pub dew_point_c: Vec<Option<f64>>,
    /// Moisture by volume at the mean humidity, %.
    pub moisture_pct: Vec<Option<f64>>,
    /// Mean humidity ratio, kg water per kg dry air.
    pub humidity_ratio: Vec<Option<f64>>,
    /// Mean opening of the exhaust damper, %.
    pub exhaust_damper_pct: Vec<Option<f64>>,
}

/// A rise of the band speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Rise {
    /// Since when the band runs faster.
    pub began: String,
    /// The level before, m/min.
    pub before_m_min: f64,
    /// The level after, m/min.
    pub after_m_min: f64,
    /// By how much of the level before, %.
    pub rise_pct: f64,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct HistoryParameters {
    /// From this time on, RFC 3339; without it, the four hours before `to`.
    from: Option<String>,
    /// Before this time, RFC 3339; without it, up to the newest.
    to: Option<String>,
    /// Length of a step, s, a multiple of the 30 s of a window; without it, as short as 1440 steps allow.
    #[param(minimum = 30, maximum = 86400)]
    step_s: Option<f64>,
}

/// The figures of a line over time: at most three days and 5,000 steps at once.
#[utoipa::path(get, path = "/api/v1/lines/{line}/history", tag = "lines",
    params(("line" = String, Path, description = "Id of the line"), HistoryParameters),
    responses((status = 200, body = History), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn history(
    State(app): State<App>,
    Names(line): Names<String>,
    Parameters(asked): Parameters<HistoryParameters>,
) -> Result<Json<History>, Problem> {
    if asked.step_s.is_some_and(|step| !(30.0..=86_400.0).contains(&step)) {
        return Err(wrong("\"step_s\" is a length in seconds. Write 30 to 86400."));
    }
    let query = HistoryQuery { period: period(asked.from.as_deref(), asked.to.as_deref())?, step_s: asked.step_s };
    ask(&app, move |answers| answers.history(&line, query)).await.map(Json)
}
