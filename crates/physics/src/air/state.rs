//! Moist air as a whole: temperature, pressure and water, and all that follows from the three.

use crate::air::{
    air_pressure, dew_point_from_moisture, humidity_ratio_from_moisture, impossible_dew_point, moisture_from_dew_point,
    moisture_from_humidity_ratio,
};
use crate::air::{heat, wet_bulb};
use crate::error::OutOfRange;
use crate::saturation;
use crate::units::{
    Celsius, CubicMetrePerKilogram, HumidityRatio, JoulePerKilogram, KilogramPerCubicMetre, MoistureFraction, Pascal,
};

/// Specific gas constant of dry air, J/(kg K) (ASHRAE Fundamentals 2017, ch. 1).
const DRY_AIR_GAS: f64 = 287.042;
/// Specific gas constant of water vapour, J/(kg K): dry air's over the ratio of molar masses.
const VAPOUR_GAS: f64 = 461.524;
const LOWEST_TEMPERATURE: f64 = -60.0;
const HIGHEST_TEMPERATURE: f64 = 800.0;
/// Lets air count as saturated, not foggy, when rounding puts it a hair above.
const SATURATION_SLACK: f64 = 1e-9;

/// Moist air, an ideal mixture, at −60 to 800 °C and 10 to 200 kPa, holding no more water than it
/// can as vapour.
///
/// Against the real mixture (Herrmann, Kretzschmar, Gatley) at 25 to 300 °C, up to 92 °C dew point
/// and at 79 to 101 kPa: humidity ratio within 1.5 %, enthalpy within 1.3 % at the same dew point
/// and 0.4 % at the same humidity ratio, wet bulb within 0.1 K.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoistAir {
    temperature: Celsius,
    pressure: Pascal,
    moisture: MoistureFraction,
}

impl MoistAir {
    /// Air of this temperature, dew point and pressure.
    ///
    /// [`OutOfRange`] if one is out of range or the dew point lies above the temperature.
    pub fn from_dew_point(temperature: Celsius, dew_point: Celsius, pressure: Pascal) -> Result<Self, OutOfRange> {
        check(temperature, pressure)?;
        if dew_point > temperature {
            let impossible = impossible_dew_point(dew_point, pressure);
            return Err(OutOfRange { high: impossible.high.min(temperature.0), ..impossible });
        }
        Ok(Self { temperature, pressure, moisture: moisture_from_dew_point(dew_point, pressure)? })
    }

    /// Air of this temperature, moisture by volume and pressure. A moisture of 0 is dry air.
    ///
    /// [`OutOfRange`] if one is out of range or the air cannot hold that much vapour.
    pub fn from_moisture(
        temperature: Celsius,
        moisture: MoistureFraction,
        pressure: Pascal,
    ) -> Result<Self, OutOfRange> {
        let most = most_moisture(temperature, pressure)?;
        if !(0.0..1.0).contains(&moisture.0) || moisture.0 > most {
            return Err(OutOfRange {
                quantity: "moisture fraction",
                value: moisture.0,
                low: 0.0,
                high: most,
                unit: "",
            });
        }
        Ok(Self { temperature, pressure, moisture })
    }

    /// Air of this temperature, humidity ratio and pressure. A humidity ratio of 0 is dry air.
    ///
    /// [`OutOfRange`] if one is out of range or the air cannot hold that much vapour.
    pub fn from_humidity_ratio(
        temperature: Celsius,
        ratio: HumidityRatio,
        pressure: Pascal,
    ) -> Result<Self, OutOfRange> {
        let most = most_moisture(temperature, pressure)?;
        let moisture = moisture_from_humidity_ratio(ratio)?;
        Self::from_moisture(temperature, moisture, pressure).map_err(|error| OutOfRange {
            quantity: "humidity ratio",
            value: ratio.0,
            high: humidity_ratio_from_moisture(MoistureFraction(most)).map_or(error.high, |most| most.0),
            unit: "kg/kg",
            ..error
        })
    }

    /// Dry-bulb temperature.
    #[must_use]
    pub fn temperature(&self) -> Celsius {
        self.temperature
    }

    /// Total pressure.
    #[must_use]
    pub fn pressure(&self) -> Pascal {
        self.pressure
    }

    /// Share of vapour by volume.
    #[must_use]
    pub fn moisture(&self) -> MoistureFraction {
        self.moisture
    }

    /// Vapour per dry air by mass, w = 0.621945 x/(1 − x).
    #[must_use]
    pub fn humidity_ratio(&self) -> HumidityRatio {
        HumidityRatio(crate::air::WATER_TO_AIR_MASS * self.moisture.0 / (1.0 - self.moisture.0))
    }

    /// Partial pressure of the vapour.
    #[must_use]
    pub fn vapour_pressure(&self) -> Pascal {
        Pascal(self.moisture.0 * self.pressure.0)
    }

    /// Dew point, below 0 °C frost point; none if the air is drier than a frost point of −100 °C.
    #[must_use]
    pub fn dew_point(&self) -> Option<Celsius> {
        dew_point_from_moisture(self.moisture, self.pressure).ok()
    }

    /// The temperature at which water boils at this pressure: no dew point can lie above it.
    #[must_use]
    pub fn boiling_point(&self) -> Celsius {
        // The pressure was checked, and all of 10 to 200 kPa lies on the saturation curve.
        saturation::temperature(self.pressure).unwrap_or(saturation::CRITICAL_TEMPERATURE)
    }

    /// Vapour pressure over the saturation pressure at the dry bulb, 0 to 1.
    ///
    /// Above the boiling point this is still the activity of the vapour, the figure that says how
    /// hard a wet surface of the air's temperature would dry. None above 373.946 °C.
    #[must_use]
    pub fn relative_humidity(&self) -> Option<f64> {
        saturation::pressure(self.temperature).ok().map(|most| self.vapour_pressure().0 / most.0)
    }

    /// Enthalpy per kg of dry air, h = h_air(t) + w h_vapour(t), an ideal mixture whose heat
    /// capacities rise with temperature. Nought for dry air at 0 °C and liquid water at 0.01 °C.
    ///
    /// Sources: Lemmon et al. 2000 (dry air at 101.325 kPa), IAPWS R7-97(2012) equation 16 (vapour
    /// in the ideal-gas limit).
    #[must_use]
    pub fn enthalpy(&self) -> JoulePerKilogram {
        let Celsius(t) = self.temperature;
        JoulePerKilogram(heat::dry_air(t) + self.humidity_ratio().0 * heat::vapour(t))
    }

    /// Density of the mixture, ρ = p_v/(R_v T) + (P − p_v)/(R_a T).
    #[must_use]
    pub fn density(&self) -> KilogramPerCubicMetre {
        let vapour = self.vapour_pressure().0;
        let kelvin = self.temperature.kelvin();
        KilogramPerCubicMetre((vapour / VAPOUR_GAS + (self.pressure.0 - vapour) / DRY_AIR_GAS) / kelvin)
    }

    /// Volume of the mixture per kg of dry air, v = R_a T/(P − p_v).
    #[must_use]
    pub fn specific_volume(&self) -> CubicMetrePerKilogram {
        let dry = self.pressure.0 * (1.0 - self.moisture.0);
        CubicMetrePerKilogram(DRY_AIR_GAS * self.temperature.kelvin() / dry)
    }

    /// Wet bulb: the temperature of adiabatic saturation, also above 100 °C dry bulb.
    ///
    /// The air, brought to saturation by water (below 0 °C: ice) of that very temperature, ends
    /// there: h(t, w) + (w* − w) h_water(t*) = h(t*, w*). Source: ASHRAE Fundamentals 2017, ch. 1,
    /// "thermodynamic wet-bulb temperature", with the enthalpies of this module.
    #[must_use]
    pub fn wet_bulb(&self) -> Celsius {
        wet_bulb::of(self)
    }
}

fn check(temperature: Celsius, pressure: Pascal) -> Result<(), OutOfRange> {
    let range = LOWEST_TEMPERATURE..=HIGHEST_TEMPERATURE;
    OutOfRange::unless_in(range, "air temperature", temperature.0, "degC")?;
    air_pressure(pressure).map(drop)
}

/// The most vapour by volume that air of this temperature can hold: 1 from the boiling point up.
fn most_moisture(temperature: Celsius, pressure: Pascal) -> Result<f64, OutOfRange> {
    check(temperature, pressure)?;
    let saturated = saturation::pressure(temperature).unwrap_or(saturation::CRITICAL_PRESSURE);
    Ok((saturated.0 / pressure.0 * (1.0 + SATURATION_SLACK)).min(1.0))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    const SEA_LEVEL: Pascal = Pascal(101_325.0);

    #[test]
    fn the_three_ways_in_describe_the_same_air() {
        let by_dew_point = MoistAir::from_dew_point(Celsius(220.0), Celsius(80.0), SEA_LEVEL).unwrap();
        let by_moisture = MoistAir::from_moisture(Celsius(220.0), by_dew_point.moisture(), SEA_LEVEL).unwrap();
        let by_ratio = MoistAir::from_humidity_ratio(Celsius(220.0), by_dew_point.humidity_ratio(), SEA_LEVEL).unwrap();
        assert_eq!(by_dew_point, by_moisture);
        assert!((by_ratio.moisture().0 - by_moisture.moisture().0).abs() < 1e-15);
        assert!((by_ratio.dew_point().unwrap().0 - 80.0).abs() < 1e-10);
    }

    #[test]
    fn fog_is_refused_in_the_callers_own_quantity() {
        let message = |result: Result<MoistAir, OutOfRange>| result.unwrap_err().to_string();
        assert_eq!(
            message(MoistAir::from_dew_point(Celsius(60.0), Celsius(61.0), SEA_LEVEL)),
            "dew point 61 degC is outside -100 to 60 degC"
        );
        assert_eq!(
            message(MoistAir::from_moisture(Celsius(60.0), MoistureFraction(0.25), SEA_LEVEL)),
            "moisture fraction 0.25 is outside 0 to 0.1968498"
        );
        assert_eq!(
            message(MoistAir::from_humidity_ratio(Celsius(60.0), HumidityRatio(0.2), SEA_LEVEL)),
            "humidity ratio 0.2 kg/kg is outside 0 to 0.1524369 kg/kg"
        );
    }

    #[test]
    fn saturated_air_is_not_fog() {
        let at_most = MoistAir::from_dew_point(Celsius(60.0), Celsius(60.0), SEA_LEVEL).unwrap();
        assert!(MoistAir::from_humidity_ratio(Celsius(60.0), at_most.humidity_ratio(), SEA_LEVEL).is_ok());
        assert!((at_most.wet_bulb().0 - 60.0).abs() < 1e-9);
        assert_eq!(at_most.relative_humidity(), Some(1.0));
    }

    #[test]
    fn dry_air_has_no_dew_point_but_a_wet_bulb() {
        let dry = MoistAir::from_moisture(Celsius(220.0), MoistureFraction(0.0), SEA_LEVEL).unwrap();
        assert_eq!(dry.dew_point(), None);
        assert!((40.0..50.0).contains(&dry.wet_bulb().0));
        let above_critical = MoistAir::from_moisture(Celsius(500.0), MoistureFraction(0.9), SEA_LEVEL).unwrap();
        assert_eq!(above_critical.relative_humidity(), None);
    }

    #[test]
    fn what_is_not_a_number_is_an_error() {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(MoistAir::from_dew_point(Celsius(bad), Celsius(20.0), SEA_LEVEL).is_err());
            assert!(MoistAir::from_dew_point(Celsius(220.0), Celsius(bad), SEA_LEVEL).is_err());
            assert!(MoistAir::from_dew_point(Celsius(220.0), Celsius(20.0), Pascal(bad)).is_err());
            assert!(MoistAir::from_moisture(Celsius(220.0), MoistureFraction(bad), SEA_LEVEL).is_err());
            assert!(MoistAir::from_humidity_ratio(Celsius(220.0), HumidityRatio(bad), SEA_LEVEL).is_err());
        }
    }
}
