//! What the readings do not say: calorific value, boiler, prices, factors.

use physics::steam::injection::{Boiler, LONGEST_USEFUL_EXPOSURE};
use physics::units::{Celsius, HumidityRatio, Pascal, Seconds};

use super::gas::CalorificValue;
use super::price::{Carbon, Prices};

/// What the readings do not say about energy.
#[derive(Debug, Clone, PartialEq)]
pub struct EnergySettings {
    /// Heat of a cubic metre of gas. Without it gas stays a volume.
    pub gas: Option<CalorificValue>,
    /// Where steam comes from.
    pub boiler: BoilerSettings,
    /// Product under steam for longer than this has no more use of it: the limit of over-steaming.
    pub useful_steam: Seconds,
    /// The air that the oven draws in, where no signal measures it.
    pub ambient_temperature: Celsius,
    /// Its humidity ratio.
    pub ambient_humidity: HumidityRatio,
    /// What energy costs.
    pub prices: Prices,
    /// The carbon dioxide that goes with it.
    pub carbon: Carbon,
}

/// The boiler behind the steam: its fuel is what steam costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoilerSettings {
    /// Pressure of the saturated steam before the oven, absolute.
    pub steam_pressure: Pascal,
    /// Its feed water, and the heat in its steam over the heat in its fuel (gross).
    pub boiler: Boiler,
}

impl Default for EnergySettings {
    /// Steam of 1.5 bar absolute from feed water of 80 °C at 85 % of gross; 10 s of useful steam; hall air of 25 °C
    /// and 0.010 kg/kg (common practice). No calorific value, price or factor: those must be stated.
    fn default() -> Self {
        Self {
            gas: None,
            boiler: BoilerSettings {
                steam_pressure: Pascal::from_bar(1.5),
                boiler: Boiler { feed_water: Celsius(80.0), efficiency: 0.85 },
            },
            useful_steam: LONGEST_USEFUL_EXPOSURE,
            ambient_temperature: Celsius(25.0),
            ambient_humidity: HumidityRatio(0.010),
            prices: Prices::default(),
            carbon: Carbon::default(),
        }
    }
}
