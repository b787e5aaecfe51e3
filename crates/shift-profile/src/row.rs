//! One row of the shift profile table. The order of the fields is the order of the columns.

use std::sync::Arc;

use chrono::NaiveDate;
use reading::Timestamp;
use serde::{Deserialize, Serialize};

/// One zone while one product was baked in one shift.
///
/// A statistic is `None` if there was no reading to take it of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShiftProfileRow {
    /// The site's id.
    pub site: Arc<str>,
    /// The line's id.
    pub line: Arc<str>,
    /// The local date on which the shift began.
    pub date: NaiveDate,
    /// The shift's name.
    pub shift: Arc<str>,
    /// The product's code.
    pub product: Arc<str>,
    /// The zone, counted from 1 in the direction of travel.
    pub zone: u32,
    /// The shift's first moment.
    pub starts: Timestamp,
    /// The first moment of the next shift.
    pub ends: Timestamp,
    /// How long the product was baked in this shift, min.
    pub running_min: f64,
    /// How many readings of the zone (humidity, air temperature, exhaust damper) were used.
    pub readings: u64,
    /// Share of the windows of 30 s of that time in which the zone's humidity (its air temperature if
    /// it has no humidity sensor) has a usable reading, %. 0 if the zone has neither. Time of which nothing
    /// is known counts as uncovered, see [`count_unseen`](Self::count_unseen).
    pub coverage_pct: f64,
    /// Mean moisture by volume, % vol.
    pub moisture_pct_mean: Option<f64>,
    /// 5 % of the readings lie below this moisture, % vol.
    pub moisture_pct_p05: Option<f64>,
    /// Median moisture, % vol.
    pub moisture_pct_p50: Option<f64>,
    /// 95 % of the readings lie below this moisture, % vol.
    pub moisture_pct_p95: Option<f64>,
    /// Mean of the dew points, °C. Not the dew point of the mean moisture: it is no linear scale.
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
    /// Mean bake time, min: length of the oven over band speed, reading by reading.
    pub bake_time_min_mean: Option<f64>,
    /// The zone with the highest mean moisture while this product was baked; of equal ones the first.
    pub peak_zone: Option<u32>,
    /// Fall of mean moisture from zone 1 to zone 2, % of zone 1; negative if it rises.
    pub drop_1_to_2_pct: Option<f64>,
    /// Mean moisture of zone 3, % of that of the peak zone.
    pub zone3_to_peak_pct: Option<f64>,
    /// The normal with which the shift was compared. Left to the caller.
    pub normal_id: Option<String>,
    /// How far it departed from that normal, by the normal's own measure. Left to the caller.
    pub departure: Option<f64>,
    /// How many alerts were raised on the line while the product was baked. Left to the caller.
    pub alerts: u32,
}

impl ShiftProfileRow {
    /// Counts time in which the product was baked, as far as one can tell, and no reading arrived at all: it is not
    /// in `running_min`, and takes its share of the coverage.
    pub fn count_unseen(&mut self, minutes: f64) {
        if self.running_min + minutes > 0.0 {
            self.coverage_pct *= self.running_min / (self.running_min + minutes);
        }
    }

    /// The names of the columns, in their order.
    pub const COLUMNS: [&str; 30] = [
        "site",
        "line",
        "date",
        "shift",
        "product",
        "zone",
        "starts",
        "ends",
        "running_min",
        "readings",
        "coverage_pct",
        "moisture_pct_mean",
        "moisture_pct_p05",
        "moisture_pct_p50",
        "moisture_pct_p95",
        "dew_point_c_mean",
        "humidity_ratio_mean",
        "air_temperature_c_mean",
        "air_temperature_c_p05",
        "air_temperature_c_p95",
        "exhaust_damper_pct_mean",
        "band_speed_m_min_mean",
        "band_speed_m_min_max",
        "bake_time_min_mean",
        "peak_zone",
        "drop_1_to_2_pct",
        "zone3_to_peak_pct",
        "normal_id",
        "departure",
        "alerts",
    ];
}
