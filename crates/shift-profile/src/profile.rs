//! The rows of one line in one shift.

use reading::{LineIndex, NumberSeries, Plant, Quantity, ShiftInstance};

use crate::error::ShiftProfileError;
use crate::measurement::{Measure, measurements};
use crate::row::ShiftProfileRow;
use crate::running::Running;
use crate::stretch::Stretch;
use crate::summary::{Summaries, Summary};

/// The shift profile of one line: product by product in the order in which they were first baked,
/// zone by zone in the direction of travel. No row if nothing was baked.
///
/// `readings` and `stretches` may reach beyond the shift, and `readings` may hold other lines: they are left out.
/// `normal_id`, `departure` and `alerts` are left empty for the caller.
///
/// # Errors
/// If the plant has no such line, or if the columns of a series are not equally long.
pub fn shift_profile(
    plant: &Plant,
    line: LineIndex,
    shift: &ShiftInstance,
    readings: &[NumberSeries],
    stretches: &[Stretch],
) -> Result<Vec<ShiftProfileRow>, ShiftProfileError> {
    check(plant, line, readings)?;
    let running = Running::during(shift, stretches);
    let summaries = Summaries::of(measurements(plant, line, &running, readings))?;
    let profile = Profile { plant, line, shift, running: &running, summaries: &summaries };
    let products = 0..running.products().len();
    Ok(products.flat_map(|product| profile.rows(product)).collect())
}

fn check(plant: &Plant, line: LineIndex, readings: &[NumberSeries]) -> Result<(), ShiftProfileError> {
    if line.0 >= plant.lines.len() {
        return Err(ShiftProfileError::UnknownLine { line: line.0, lines: plant.lines.len() });
    }
    for series in readings {
        let (times, values, qualities) = (series.time_us.len(), series.value.len(), series.quality.len());
        if [values, qualities] != [times; 2] {
            return Err(ShiftProfileError::UnequalColumns { signal: series.signal.0, times, values, qualities });
        }
    }
    Ok(())
}

struct Profile<'a> {
    plant: &'a Plant,
    line: LineIndex,
    shift: &'a ShiftInstance,
    running: &'a Running,
    summaries: &'a Summaries,
}

impl Profile<'_> {
    fn rows(&self, product: usize) -> Vec<ShiftProfileRow> {
        let zones = 1..=self.plant.lines[self.line.0].zones.len();
        let moisture: Vec<Option<f64>> =
            zones.clone().map(|zone| Some(self.summaries.get(product, zone, Measure::Moisture)?.mean)).collect();
        let shape = Shape::of(&moisture);
        zones.map(|zone| self.row(product, zone, shape)).collect()
    }

    fn row(&self, product: usize, zone: usize, shape: Shape) -> ShiftProfileRow {
        let of_zone = |measure| self.summaries.get(product, zone, measure);
        let of_line = |measure| self.summaries.get(product, 0, measure);
        let moisture = of_zone(Measure::Moisture);
        let air_temperature = of_zone(Measure::AirTemperature);
        let exhaust_damper = of_zone(Measure::ExhaustDamper);
        let band_speed = of_line(Measure::BandSpeed);
        let mean = |summary: Option<&Summary>| summary.map(|summary| summary.mean);
        let spread = |summary: Option<&Summary>| summary.and_then(|summary| summary.spread);
        let (moisture_spread, temperature_spread) = (spread(moisture), spread(air_temperature));
        ShiftProfileRow {
            site: self.plant.site.clone(),
            line: self.plant.lines[self.line.0].id.clone(),
            date: self.shift.date,
            shift: self.shift.name.clone(),
            product: self.running.products()[product].clone(),
            zone: zone as u32,
            starts: self.shift.starts,
            ends: self.shift.ends,
            running_min: self.running.minutes(product),
            readings: [moisture, air_temperature, exhaust_damper]
                .iter()
                .flatten()
                .map(|summary| summary.readings)
                .sum(),
            coverage_pct: self.coverage_pct(product, if self.has_humidity(zone) { moisture } else { air_temperature }),
            moisture_pct_mean: mean(moisture),
            moisture_pct_p05: moisture_spread.map(|spread| spread.p05),
            moisture_pct_p50: moisture_spread.map(|spread| spread.p50),
            moisture_pct_p95: moisture_spread.map(|spread| spread.p95),
            dew_point_c_mean: mean(of_zone(Measure::DewPoint)),
            humidity_ratio_mean: mean(of_zone(Measure::HumidityRatio)),
            air_temperature_c_mean: mean(air_temperature),
            air_temperature_c_p05: temperature_spread.map(|spread| spread.p05),
            air_temperature_c_p95: temperature_spread.map(|spread| spread.p95),
            exhaust_damper_pct_mean: mean(exhaust_damper),
            band_speed_m_min_mean: mean(band_speed),
            band_speed_m_min_max: band_speed.map(|summary| summary.max),
            bake_time_min_mean: mean(of_line(Measure::BakeTime)),
            peak_zone: shape.peak_zone,
            drop_1_to_2_pct: shape.drop_1_to_2_pct,
            zone3_to_peak_pct: shape.zone3_to_peak_pct,
            normal_id: None,
            departure: None,
            alerts: 0,
        }
    }

    fn has_humidity(&self, zone: usize) -> bool {
        let humidity = [Quantity::DewPoint, Quantity::Moisture, Quantity::HumidityRatio];
        let mut signals = self.plant.signals.of_line(self.line);
        signals.any(|(_, signal)| signal.zone == Some(zone) && humidity.contains(&signal.quantity))
    }

    fn coverage_pct(&self, product: usize, summary: Option<&Summary>) -> f64 {
        let covered = summary.map_or(0, |summary| summary.windows);
        100.0 * covered as f64 / self.running.windows(product) as f64
    }
}

/// The shape of a humidity profile.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Shape {
    peak_zone: Option<u32>,
    drop_1_to_2_pct: Option<f64>,
    zone3_to_peak_pct: Option<f64>,
}

impl Shape {
    /// From the mean moisture of each zone.
    fn of(moisture: &[Option<f64>]) -> Self {
        let of_zone = |zone: usize| moisture.get(zone - 1).copied().flatten();
        let measured = (1..=moisture.len()).filter_map(|zone| Some((zone, of_zone(zone)?)));
        let peak = measured.reduce(|peak, zone| if zone.1 > peak.1 { zone } else { peak });
        // Dry air throughout has no shape.
        let share = |part: f64, whole: f64| (whole > 0.0).then(|| 100.0 * part / whole);
        let drop = || share(of_zone(1)? - of_zone(2)?, of_zone(1)?);
        let last = || share(of_zone(3)?, peak?.1);
        Self { peak_zone: peak.map(|(zone, _)| zone as u32), drop_1_to_2_pct: drop(), zone3_to_peak_pct: last() }
    }
}
