//! The profile of a line as it is now, beside the normal at this speed.

use normal_profile::{Band, ZoneExpectation};
use reading::ZoneWindow;
use web::api::{Figure, Profile, Refusal, ZoneProfile};

use super::history::moisture_pct;
use super::{Api, rounded};
use crate::service::state_word;

impl Api {
    pub(super) fn profile_of(&self, id: &str) -> Result<Profile, Refusal> {
        let (index, line) = self.line(id)?;
        let Some(window) = self.recent.windows(index).pop() else {
            return Ok(Profile { line: id.into(), state: "unknown".into(), ..Profile::default() });
        };
        let approved = self.approved()?;
        let normal = window.product.as_ref().and_then(|product| approved.get(&(index, product.clone())));
        let expected = normal.zip(window.band_speed).map(|(normal, speed)| normal.expect(speed));
        let speeds = normal.map(|normal| &normal.record().speeds);
        let zone = |(number, zone): (usize, &ZoneWindow)| {
            self.zone_profile(number, zone, expected.as_ref().and_then(|expected| expected.zones.get(number - 1)))
        };
        Ok(Profile {
            line: id.into(),
            time: Some(window.ends.to_string()),
            state: state_word(&window).into(),
            product: window.product.as_ref().map(ToString::to_string),
            band_speed_m_min: window.band_speed.map(|speed| rounded(speed.0, 4)),
            bake_time_min: window
                .band_speed
                .filter(|speed| speed.0 > 0.0)
                .map(|speed| rounded(line.length().0 / speed.0, 2)),
            normal: normal.map(|normal| normal.key().to_string()),
            extrapolates_pct: expected
                .as_ref()
                .and_then(|expected| expected.extrapolating.as_ref())
                .map(|beyond| rounded(beyond.beyond_pct, 2)),
            slowest_m_min: speeds.map(|speeds| rounded(speeds.slowest_m_min, 4)),
            fastest_m_min: speeds.map(|speeds| rounded(speeds.fastest_m_min, 4)),
            zones: (1..).zip(&window.zones).map(zone).collect(),
        })
    }

    fn zone_profile(&self, number: usize, zone: &ZoneWindow, expected: Option<&ZoneExpectation>) -> ZoneProfile {
        let humidity = zone.humidity.map(|ratio| ratio.0);
        let band = expected.map(|expected| expected.ln_humidity);
        let of_humidity = |unit: &dyn Fn(f64) -> Option<f64>, decimals| {
            figure(humidity.and_then(unit), band, |ln_humidity| unit(ln_humidity.exp()), decimals)
        };
        ZoneProfile {
            zone: number,
            moisture_pct: of_humidity(&moisture_pct, 3),
            dew_point_c: of_humidity(&|ratio| self.dew_point(ratio), 2),
            humidity_ratio: of_humidity(&Some, 6),
            air_temperature_c: figure(
                zone.air_temperature.map(|temperature| temperature.0),
                expected.and_then(|expected| expected.temperature),
                Some,
                2,
            ),
            exhaust_damper_pct: zone.exhaust_damper.map(|opening| rounded(opening, 2)),
        }
    }
}

fn figure(observed: Option<f64>, band: Option<Band>, unit: impl Fn(f64) -> Option<f64>, decimals: i32) -> Figure {
    let shown = |value: Option<f64>| value.and_then(&unit).map(|value| rounded(value, decimals));
    Figure {
        observed: observed.map(|value| rounded(value, decimals)),
        expected: shown(band.map(|band| band.mean)),
        low: shown(band.map(Band::low)),
        high: shown(band.map(Band::high)),
    }
}
