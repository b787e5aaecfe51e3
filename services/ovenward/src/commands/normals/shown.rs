//! What a quantity usually shows, for people.

use alert::message::moisture_pct;
use normal_profile::{Band, ZoneExpectation};
use serde::Serialize;

/// What a quantity usually shows, with the ends of the band that holds 95 of 100 windows.
#[derive(Debug, Clone, Copy, Serialize)]
pub(crate) struct Shown {
    pub(crate) usual: f64,
    pub(crate) low: f64,
    pub(crate) high: f64,
}

impl Shown {
    /// Humidity, % vol.
    pub(crate) fn humidity(zone: &ZoneExpectation) -> Self {
        Self::of(zone.ln_humidity, moisture_pct)
    }

    /// Air temperature, °C; none if the normal has none of the zone.
    pub(crate) fn temperature(zone: &ZoneExpectation) -> Option<Self> {
        zone.temperature.map(|band| Self::of(band, |celsius| celsius))
    }

    fn of(band: Band, unit: impl Fn(f64) -> f64) -> Self {
        Self { usual: unit(band.mean), low: unit(band.low()), high: unit(band.high()) }
    }
}
