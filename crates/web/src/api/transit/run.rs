//! A run of a travelling logger, laid on the zones of an oven.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A run of a travelling logger through an oven, laid on its zones.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "id": "tunnel-1-20261006T090000Z", "line": "tunnel-1", "product": "T800", "entered": "2026-10-06T09:00:00Z",
    "band_speed_m_min": 1.17, "speed_is_stored": true, "is_whole": true,
    "peak": { "metre": 1.1, "seconds": 56.4, "zone": 1, "moisture_pct": 44.2 }, "drop_1_to_2_pct": 55.0, "zone3_to_peak_pct": 11.0,
    "steam_exposure_s": 61.5, "surface": { "wetted_s": 48.0, "condensate_g_m2": 61.0, "gelatinised_while_wet": true },
    "injectors": [{ "metre": 0.5, "rise_pct": 12.1, "works": true }, { "metre": 0.9, "rise_pct": 0.2, "works": false }],
    "normal": "tunnel-1/T800/3",
    "zones": [{
        "begins_m": 0.0, "ends_m": 7.0, "moisture_pct": 37.6, "temperature_c": 231.4, "sensor_moisture_pct": 38.0,
        "sensor_temperature_c": 232.0, "normal_low_pct": 36.1, "normal_pct": 38.0, "normal_high_pct": 39.9
    }],
    "profile": [{ "metre": 0.0, "seconds": 0.0, "temperature_c": 74.0, "moisture_pct": 3.1 },
        { "metre": 1.1, "seconds": 56.4, "temperature_c": 212.5, "moisture_pct": 44.2 }],
    "missing": []
}))]
pub struct TransitRun {
    /// Its id: line and time of entering.
    pub id: String,
    /// Id of the line.
    pub line: String,
    /// Code of the product on the band.
    pub product: Option<String>,
    /// When it entered the oven.
    pub entered: String,
    /// Band speed, m/min.
    pub band_speed_m_min: f64,
    /// Whether the band speed was taken from the store.
    pub speed_is_stored: bool,
    /// Whether it passed the whole oven.
    pub is_whole: bool,
    /// The wettest place.
    pub peak: Option<TransitPeak>,
    /// Fall of moisture from zone 1 to zone 2, % of zone 1; negative if it rises.
    pub drop_1_to_2_pct: Option<f64>,
    /// Moisture of zone 3 as a share of the wettest zone, %.
    pub zone3_to_peak_pct: Option<f64>,
    /// Time under steam, s.
    pub steam_exposure_s: Option<f64>,
    /// What the surface of dough met, computed.
    pub surface: Option<DoughSurface>,
    /// Whether each steam injector gave any.
    pub injectors: Vec<SteamInjector>,
    /// Id of the normal it is held against.
    pub normal: Option<String>,
    /// Zone by zone, in the direction of travel.
    pub zones: Vec<TransitZone>,
    /// The profile by place and by time, at most 300 points.
    pub profile: Vec<TransitPoint>,
    /// What could not be told, and why.
    pub missing: Vec<String>,
}

/// The wettest place of a run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TransitPeak {
    /// Where, m from the mouth.
    pub metre: f64,
    /// When, s after entering.
    pub seconds: f64,
    /// In which zone, from 1.
    pub zone: usize,
    /// Moisture there, % vol.
    pub moisture_pct: f64,
}

/// What the surface of dough met, computed. It says nothing of the core.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DoughSurface {
    /// How long it was wet, s.
    pub wetted_s: f64,
    /// Water that condensed on it, g/m².
    pub condensate_g_m2: f64,
    /// Whether it passed the gelatinisation of starch (77 °C) while it was wet.
    pub gelatinised_while_wet: bool,
}

/// A steam injector.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SteamInjector {
    /// Where, m from the mouth.
    pub metre: f64,
    /// Rise of moisture behind it, % vol.
    pub rise_pct: Option<f64>,
    /// Whether it gave steam; null if nobody can tell.
    pub works: Option<bool>,
}

/// One zone: the logger, the fixed sensors while it was there, and the normal at this speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TransitZone {
    /// Where it begins, m from the mouth.
    pub begins_m: f64,
    /// Where it ends, m from the mouth.
    pub ends_m: f64,
    /// Mean moisture by the logger, % vol.
    pub moisture_pct: Option<f64>,
    /// Mean air temperature by the logger, °C.
    pub temperature_c: Option<f64>,
    /// Moisture by the fixed sensor meanwhile, % vol.
    pub sensor_moisture_pct: Option<f64>,
    /// Air temperature by the fixed sensor meanwhile, °C.
    pub sensor_temperature_c: Option<f64>,
    /// Lower end of the normal's band, % vol.
    pub normal_low_pct: Option<f64>,
    /// What the normal expects, % vol.
    pub normal_pct: Option<f64>,
    /// Upper end of the normal's band, % vol.
    pub normal_high_pct: Option<f64>,
}

/// A point of the profile.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TransitPoint {
    /// Place, m from the mouth.
    pub metre: f64,
    /// Time after entering, s.
    pub seconds: f64,
    /// Air temperature, °C.
    pub temperature_c: f64,
    /// Moisture, % vol.
    pub moisture_pct: Option<f64>,
}

/// A kept run in a list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "id": "tunnel-1-20261006T090000Z", "line": "tunnel-1", "product": "T800", "entered": "2026-10-06T09:00:00Z",
    "band_speed_m_min": 1.17, "is_whole": true, "peak_moisture_pct": 44.2, "zone3_moisture_pct": 4.9, "dead_injectors": 1
}))]
pub struct TransitSummary {
    /// Its id.
    pub id: String,
    /// Id of the line.
    pub line: String,
    /// Code of the product on the band.
    pub product: Option<String>,
    /// When it entered the oven.
    pub entered: String,
    /// Band speed, m/min.
    pub band_speed_m_min: f64,
    /// Whether it passed the whole oven.
    pub is_whole: bool,
    /// Moisture at the wettest place, % vol.
    pub peak_moisture_pct: Option<f64>,
    /// Mean moisture of zone 3, % vol.
    pub zone3_moisture_pct: Option<f64>,
    /// Steam injectors that gave nothing.
    pub dead_injectors: usize,
}
