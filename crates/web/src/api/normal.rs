//! Normals: what is usual for a product on a line, learned from history and approved by a person.

use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::paging::Paging;
use super::parameters::{Names, Parameters};
use super::{Page, ask};
use crate::problem::Problem;
use crate::serve::App;

/// The normal of a product on a line: what it was learned from and what it expects.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "id": "tunnel-1/T800/3", "line": "tunnel-1", "product": "T800", "version": 3, "standing": "approved",
    "by": "Ann", "at": "2026-10-01T09:00:00Z", "learned_from": "2026-09-01T06:00:00Z", "learned_to": "2026-09-30T22:00:00Z",
    "hours": 210.5, "runs": 44, "windows_used": 25260, "windows_left_out": 611, "slowest_m_min": 1.1, "fastest_m_min": 1.4,
    "rises_learned_from": 37, "ways_of_running_pct": [71.0, 29.0],
    "at_speeds": [{ "speed_m_min": 1.24, "zones": [{
        "zone": 1, "moisture_pct": { "usual": 38.0, "low": 36.1, "high": 39.9 },
        "air_temperature_c": { "usual": 231.0, "low": 228.0, "high": 234.0 }
    }] }]
}))]
pub struct Normal {
    /// Its id: line, product and version.
    pub id: String,
    /// Id of the line.
    pub line: String,
    /// Code of the product.
    pub product: String,
    /// Version, from 1.
    pub version: u32,
    /// `proposed`, `approved` or `retired`.
    pub standing: String,
    /// Who approved or retired it.
    pub by: Option<String>,
    /// When.
    pub at: Option<String>,
    /// Time of the first window it was learned from.
    pub learned_from: String,
    /// Time of the last.
    pub learned_to: String,
    /// Hours of baking used.
    pub hours: f64,
    /// Separate runs of baking.
    pub runs: usize,
    /// Windows it rests on.
    pub windows_used: usize,
    /// Windows left out.
    pub windows_left_out: usize,
    /// The slowest learned speed, m/min.
    pub slowest_m_min: f64,
    /// The fastest learned speed, m/min.
    pub fastest_m_min: f64,
    /// Rises in history that it learned from.
    pub rises_learned_from: usize,
    /// Share of each way of running, %, the most usual first.
    pub ways_of_running_pct: Vec<f64>,
    /// What it expects at the slowest, the middle and the fastest learned speed.
    pub at_speeds: Vec<NormalSpeed>,
}

/// What a normal expects at one speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NormalSpeed {
    /// The speed, m/min.
    pub speed_m_min: f64,
    /// Zone by zone, in the direction of travel.
    pub zones: Vec<ZoneNormal>,
}

/// What a normal expects of one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ZoneNormal {
    /// The zone, from 1.
    pub zone: usize,
    /// Moisture by volume, %.
    pub moisture_pct: Band,
    /// Air temperature, °C; null where the normal has none of the zone.
    pub air_temperature_c: Option<Band>,
}

/// What is usual, with the ends of the band that holds 95 of 100 windows.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Band {
    /// What is usual.
    pub usual: f64,
    /// Lower end of the band.
    pub low: f64,
    /// Upper end of the band.
    pub high: f64,
}

/// Two normals side by side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NormalDifference {
    /// What the first rests on.
    pub before: NormalSide,
    /// What the second rests on.
    pub after: NormalSide,
    /// At the slowest, the middle and the fastest speed that both have learned; empty if they share no speed.
    pub at: Vec<NormalChange>,
}

/// What one of two normals rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NormalSide {
    /// Its id.
    pub id: String,
    /// `proposed`, `approved` or `retired`.
    pub standing: String,
    /// Hours of baking used.
    pub hours: f64,
    /// Separate runs of baking.
    pub runs: usize,
    /// Windows it rests on.
    pub windows_used: usize,
    /// Windows left out.
    pub windows_left_out: usize,
    /// The slowest learned speed, m/min.
    pub slowest_m_min: f64,
    /// The fastest learned speed, m/min.
    pub fastest_m_min: f64,
    /// Rises in history that it learned from.
    pub rises_learned_from: usize,
    /// Share of each way of running, %, the most usual first.
    pub ways_of_running_pct: Vec<f64>,
}

/// What has changed at one speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct NormalChange {
    /// The speed, m/min.
    pub speed_m_min: f64,
    /// Zone by zone.
    pub zones: Vec<ZoneChange>,
}

/// What has changed in one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ZoneChange {
    /// The zone, from 1.
    pub zone: usize,
    /// Moisture by volume, %.
    pub moisture_pct: Change,
    /// Air temperature, °C; null where a normal has none of the zone.
    pub air_temperature_c: Option<Change>,
}

/// What is usual before and after.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Change {
    /// Before.
    pub before: Band,
    /// After.
    pub after: Band,
    /// By how much what is usual has changed.
    pub change: f64,
    /// Whether what is usual now would have been out of the ordinary before.
    pub outside_band_before: bool,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct DifferenceParameters {
    /// Id of the first, such as tunnel-1/T800/2.
    a: String,
    /// Id of the second, such as tunnel-1/T800/3.
    b: String,
}

/// Every normal, by line, product and version.
#[utoipa::path(get, path = "/api/v1/normals", tag = "normals", params(Paging),
    responses((status = 200, body = Page<Normal>), super::routes::WrongRequest))]
pub(crate) async fn normals(
    State(app): State<App>,
    Parameters(paging): Parameters<Paging>,
) -> Result<Json<Page<Normal>>, Problem> {
    let normals = ask(&app, |answers| answers.normals()).await?;
    paging.cut(normals, |normal| normal.id.clone()).map(Json)
}

/// One normal.
#[utoipa::path(get, path = "/api/v1/normals/{line}/{product}/{version}", tag = "normals",
    params(("line" = String, Path, description = "Id of the line"), ("product" = String, Path, description = "Code of the product"),
        ("version" = u32, Path, description = "Version, from 1")),
    responses((status = 200, body = Normal), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn normal(
    State(app): State<App>,
    Names((line, product, version)): Names<(String, String, u32)>,
) -> Result<Json<Normal>, Problem> {
    ask(&app, move |answers| answers.normal(&format!("{line}/{product}/{version}"))).await.map(Json)
}

/// What has changed from one normal to another.
#[utoipa::path(get, path = "/api/v1/normals/diff", tag = "normals", params(DifferenceParameters),
    responses((status = 200, body = NormalDifference), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn difference(
    State(app): State<App>,
    Parameters(asked): Parameters<DifferenceParameters>,
) -> Result<Json<NormalDifference>, Problem> {
    ask(&app, move |answers| answers.normal_difference(&asked.a, &asked.b)).await.map(Json)
}
