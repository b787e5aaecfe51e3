//! The profile of a line as it is now, beside the normal at this speed.

use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::ask;
use super::parameters::Names;
use crate::problem::Problem;
use crate::serve::App;

/// The profile of a line in the newest window, beside the normal at this speed.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "line": "tunnel-1", "time": "2026-10-06T12:00:30Z", "state": "baking", "product": "T800", "band_speed_m_min": 1.24,
    "bake_time_min": 24.2, "normal": "tunnel-1/T800/3", "extrapolates_pct": null, "slowest_m_min": 1.1, "fastest_m_min": 1.4,
    "zones": [{
        "zone": 1,
        "moisture_pct": { "observed": 41.8, "expected": 38.0, "low": 36.1, "high": 39.9 },
        "dew_point_c": { "observed": 77.6, "expected": 75.4, "low": 74.2, "high": 76.5 },
        "humidity_ratio": { "observed": 0.447, "expected": 0.381, "low": 0.351, "high": 0.413 },
        "air_temperature_c": { "observed": 232.0, "expected": 231.0, "low": 228.0, "high": 234.0 },
        "exhaust_damper_pct": 35.0
    }]
}))]
pub struct Profile {
    /// Id of the line.
    pub line: String,
    /// End of the window that it shows; null before the first.
    pub time: Option<String>,
    /// `baking`, `gap`, `changeover`, `heating`, `stopped`; `unknown` before the first window.
    pub state: String,
    /// Code of the product in the oven.
    pub product: Option<String>,
    /// Band speed, m/min.
    pub band_speed_m_min: Option<f64>,
    /// Bake time at this speed, min.
    pub bake_time_min: Option<f64>,
    /// Id of the normal; null where none is approved for the product.
    pub normal: Option<String>,
    /// How far the speed lies outside the learned ones, %; null within them.
    pub extrapolates_pct: Option<f64>,
    /// The slowest learned speed, m/min.
    pub slowest_m_min: Option<f64>,
    /// The fastest learned speed, m/min.
    pub fastest_m_min: Option<f64>,
    /// Zone by zone, in the direction of travel.
    pub zones: Vec<ZoneProfile>,
}

/// One zone of a profile.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ZoneProfile {
    /// The zone, from 1.
    pub zone: usize,
    /// Moisture by volume, %.
    pub moisture_pct: Figure,
    /// Dew point, °C.
    pub dew_point_c: Figure,
    /// Humidity ratio, kg water per kg dry air.
    pub humidity_ratio: Figure,
    /// Air temperature, °C.
    pub air_temperature_c: Figure,
    /// Opening of the exhaust damper, %.
    pub exhaust_damper_pct: Option<f64>,
}

/// What is observed beside what is expected.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Figure {
    /// Now.
    pub observed: Option<f64>,
    /// What is usual at this speed.
    pub expected: Option<f64>,
    /// Lower end of the band that holds 95 of 100 windows.
    pub low: Option<f64>,
    /// Its upper end.
    pub high: Option<f64>,
}

/// The profile of a line in the newest window, beside the normal at this speed.
#[utoipa::path(get, path = "/api/v1/lines/{line}/profile", tag = "lines",
    params(("line" = String, Path, description = "Id of the line")),
    responses((status = 200, body = Profile), super::routes::NoSuchThing))]
pub(crate) async fn profile(State(app): State<App>, Names(line): Names<String>) -> Result<Json<Profile>, Problem> {
    ask(&app, move |answers| answers.profile(&line)).await.map(Json)
}
