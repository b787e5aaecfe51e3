//! Steam in the oven: how long the dough meets it, and what each kilogram costs in heat.

use super::liquid;
use super::nozzle::Supply;
use crate::air::MoistAir;
use crate::air::exhaust;
use crate::error::OutOfRange;
use crate::units::{Celsius, JoulePerKilogram, Metre, MetrePerMinute, Pascal, Seconds};

/// Longest exposure to steam that does the crust any good (common practice, no source): what
/// condenses later has to be baked off again.
pub const LONGEST_USEFUL_EXPOSURE: Seconds = Seconds(10.0);

/// Time that dough spends in the steam section, section length over band speed.
///
/// Range: section 0 to 200 m, band speed 0.001 to 100 m/min, else [`OutOfRange`].
pub fn exposure(section: Metre, band_speed: MetrePerMinute) -> Result<Seconds, OutOfRange> {
    let section = OutOfRange::unless_in(0.0..=200.0, "steam section", section.0, "m")?;
    let speed = OutOfRange::unless_in(1e-3..=100.0, "band speed", band_speed.0, "m/min")?;
    Ok(Seconds(60.0 * section / speed))
}

/// Heat that one kg of injected steam costs, J per kg of steam.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatOfSteam {
    /// Fuel that the boiler burns, (h_steam − h_feed)/efficiency.
    pub boiler: JoulePerKilogram,
    /// Heat that the oven adds until the steam has left with the exhaust, make-up air included;
    /// before the losses of the oven's own burners.
    pub oven: JoulePerKilogram,
}

/// Boiler and feed water behind the steam.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Boiler {
    /// Temperature of the feed water.
    pub feed_water: Celsius,
    /// Heat in the steam over heat in the fuel; say on which calorific value where it is shown.
    pub efficiency: f64,
}

/// Heat that a kg of steam costs: made in the boiler, and carried out again by `exhaust`, which is
/// fed by make-up air of state `supply_air`.
///
/// Range: feed water 0 to 350 °C, efficiency 0.1 to 1, exhaust moister than the make-up air, else
/// [`OutOfRange`]. Source: enthalpy balances; [`exhaust::per_water`].
pub fn heat_of_steam(
    steam: &Supply,
    boiler: Boiler,
    exhaust: &MoistAir,
    supply_air: &MoistAir,
) -> Result<HeatOfSteam, OutOfRange> {
    let efficiency = OutOfRange::unless_in(0.1..=1.0, "boiler efficiency", boiler.efficiency, "")?;
    // Liquid hardly feels the pressure: any that keeps the feed water from boiling serves.
    let feed = liquid(boiler.feed_water, Pascal::from_bar(200.0))?.enthalpy.0;
    let carried_out = exhaust::per_water(exhaust, supply_air)?.heat.0;
    Ok(HeatOfSteam {
        boiler: JoulePerKilogram((steam.enthalpy().0 - feed) / efficiency),
        oven: JoulePerKilogram(carried_out - steam.enthalpy().0),
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;
    use crate::units::{HumidityRatio, MoistureFraction};

    #[test]
    fn one_metre_twenty_at_six_metres_a_minute_is_twelve_seconds() {
        let time = exposure(Metre(1.2), MetrePerMinute(6.0)).unwrap();
        assert!((time.0 - 12.0).abs() < 1e-12);
        assert!(time > LONGEST_USEFUL_EXPOSURE);
        assert_eq!(exposure(Metre(1.2), MetrePerMinute(0.0)).unwrap_err().quantity, "band speed");
        assert_eq!(exposure(Metre(f64::NAN), MetrePerMinute(6.0)).unwrap_err().quantity, "steam section");
    }

    #[test]
    fn steam_costs_more_to_carry_out_of_a_dry_oven() {
        let pressure = Pascal(101_325.0);
        let steam = Supply::saturated(Pascal::from_bar(1.5), 1.0).unwrap();
        let boiler = Boiler { feed_water: Celsius(80.0), efficiency: 0.85 };
        let outside = MoistAir::from_humidity_ratio(Celsius(25.0), HumidityRatio(0.01), pressure).unwrap();
        let cost = |moisture| {
            let exhaust = MoistAir::from_moisture(Celsius(220.0), MoistureFraction(moisture), pressure).unwrap();
            heat_of_steam(&steam, boiler, &exhaust, &outside).unwrap()
        };
        // 2693.1 kJ/kg of steam at 1.5 bar (steam_table.csv), 335 of feed water at 80 degC.
        assert!((cost(0.3).boiler.0 / 1e3 - (2_693.1 - 335.0) / 0.85).abs() < 25.0);
        // 3704.9 kJ per kg of water carried out at 30 % vol (exhaust_balance.csv).
        assert!((cost(0.3).oven.0 / 1e3 - (3_704.9 - 2_693.1)).abs() < 2.0);
        assert!(cost(0.1).oven > cost(0.3).oven);
    }
}
