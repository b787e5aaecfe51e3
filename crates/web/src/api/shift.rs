//! Shifts and their profile tables.

use axum::Json;
use axum::extract::State;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::paging::Paging;
use super::parameters::{Names, Parameters, period, wrong};
use super::{Page, ask};
use crate::problem::Problem;
use crate::serve::App;

/// A shift of a line of which readings are kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(example = json!({
    "line": "tunnel-1", "date": "2026-10-06", "shift": "early", "starts": "2026-10-06T05:00:00Z", "ends": "2026-10-06T13:00:00Z",
    "over": true
}))]
pub struct Shift {
    /// Id of the line.
    pub line: String,
    /// Local date on which it began, `YYYY-MM-DD`.
    pub date: String,
    /// Its name.
    pub shift: String,
    /// Its first moment.
    pub starts: String,
    /// The first moment of the next.
    pub ends: String,
    /// Whether it is over.
    pub over: bool,
}

/// The profile table of a shift.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ShiftTable {
    /// Which shift.
    pub shift: Shift,
    /// One row for each product and zone, in the order of the bakes; empty where nothing was baked.
    pub rows: Vec<ShiftRow>,
}

/// One zone while one product was baked in one shift. A statistic is null where there was no reading to take it of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShiftRow {
    /// Id of the site.
    pub site: String,
    /// Id of the line.
    pub line: String,
    /// Local date on which the shift began.
    pub date: String,
    /// Name of the shift.
    pub shift: String,
    /// Code of the product.
    pub product: String,
    /// The zone, from 1.
    pub zone: u32,
    /// The shift's first moment.
    pub starts: String,
    /// The first moment of the next.
    pub ends: String,
    /// How long the product was baked in this shift, min.
    pub running_min: f64,
    /// How many readings of the zone were used.
    pub readings: u64,
    /// Share of that time of which the zone's humidity is known, %.
    pub coverage_pct: f64,
    /// Mean moisture by volume, %.
    pub moisture_pct_mean: Option<f64>,
    /// 5 % of the readings lie below this moisture, % vol.
    pub moisture_pct_p05: Option<f64>,
    /// Median moisture, % vol.
    pub moisture_pct_p50: Option<f64>,
    /// 95 % of the readings lie below this moisture, % vol.
    pub moisture_pct_p95: Option<f64>,
    /// Mean of the dew points, °C.
    pub dew_point_c_mean: Option<f64>,
    /// Mean humidity ratio, kg water per kg dry air.
    pub humidity_ratio_mean: Option<f64>,
    /// Mean air temperature, °C.
    pub air_temperature_c_mean: Option<f64>,
    /// 5 % of the readings lie below this air temperature, °C.
    pub air_temperature_c_p05: Option<f64>,
    /// 95 % of the readings lie below this air temperature, °C.
    pub air_temperature_c_p95: Option<f64>,
    /// Mean opening of the exhaust damper, %.
    pub exhaust_damper_pct_mean: Option<f64>,
    /// Mean band speed, m/min.
    pub band_speed_m_min_mean: Option<f64>,
    /// Highest band speed, m/min.
    pub band_speed_m_min_max: Option<f64>,
    /// Mean bake time, min.
    pub bake_time_min_mean: Option<f64>,
    /// The zone with the highest mean moisture while this product was baked.
    pub peak_zone: Option<u32>,
    /// Fall of mean moisture from zone 1 to zone 2, % of zone 1; negative if it rises.
    pub drop_1_to_2_pct: Option<f64>,
    /// Mean moisture of zone 3, % of that of the peak zone.
    pub zone3_to_peak_pct: Option<f64>,
    /// Id of the normal with which the shift was compared.
    pub normal_id: Option<String>,
    /// How far it departed from that normal, by the normal's own measure.
    pub departure: Option<f64>,
    /// How many alerts were raised on the line in this shift.
    pub alerts: u32,
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct ShiftParameters {
    /// Id of the line.
    line: Option<String>,
    /// Shifts that end after this time, RFC 3339; without it, the fourteen days before `to`.
    from: Option<String>,
    /// Shifts that begin before this time, RFC 3339; without it, up to the newest.
    to: Option<String>,
    /// The most items to send.
    #[param(minimum = 1, maximum = 500, default = 100)]
    limit: Option<usize>,
    /// `next` of the page before.
    cursor: Option<String>,
}

/// Shifts of which readings are kept, the newest first.
#[utoipa::path(get, path = "/api/v1/shifts", tag = "shifts", params(ShiftParameters),
    responses((status = 200, body = Page<Shift>), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn shifts(
    State(app): State<App>,
    Parameters(asked): Parameters<ShiftParameters>,
) -> Result<Json<Page<Shift>>, Problem> {
    let period = period(asked.from.as_deref(), asked.to.as_deref())?;
    let shifts = ask(&app, move |answers| answers.shifts(asked.line.as_deref(), period)).await?;
    let paging = Paging { limit: asked.limit, cursor: asked.cursor };
    paging.cut(shifts, |shift| format!("{} {} {}", shift.starts, shift.shift, shift.line)).map(Json)
}

/// The profile table of a shift.
#[utoipa::path(get, path = "/api/v1/shifts/{line}/{date}/{shift}", tag = "shifts",
    params(("line" = String, Path, description = "Id of the line"),
        ("date" = String, Path, description = "Local date on which the shift began, YYYY-MM-DD"),
        ("shift" = String, Path, description = "Name of the shift")),
    responses((status = 200, body = ShiftTable), super::routes::NoSuchThing, super::routes::WrongRequest))]
pub(crate) async fn table(
    State(app): State<App>,
    Names((line, date, shift)): Names<(String, String, String)>,
) -> Result<Json<ShiftTable>, Problem> {
    check_date(&date)?;
    ask(&app, move |answers| answers.shift_table(&line, &date, &shift)).await.map(Json)
}

/// Refuses what is no date.
pub(crate) fn check_date(text: &str) -> Result<(), Problem> {
    if text.parse::<NaiveDate>().is_ok_and(|date| date.to_string() == text) {
        return Ok(());
    }
    Err(wrong(format!("\"{text}\" is not a date. Write it as YYYY-MM-DD, such as 2026-03-09.")))
}
