//! Water, steam, air, dough and combustion: units, formulas and plain types.
//!
//! Pure: no input or output, no clock, nothing but the standard library. Every function checks its
//! range and answers [`OutOfRange`], which names the quantity, the value and the range; NaN and
//! infinities are out of every range. Each item names its units, range, equation and source.
//!
//! | to know | look in |
//! | --- | --- |
//! | dew point, moisture by volume, humidity ratio, vapour pressure, each from the other | [`air`] |
//! | enthalpy, density, volume, wet bulb of moist air | [`air::MoistAir`] |
//! | what a kilogram of water costs to exhaust | [`air::exhaust`] |
//! | boiling and dew point pressures, over ice too | [`saturation`] |
//! | steam and water, nozzles, valves, what injected steam costs | [`steam`] |
//! | whether and how long the dough's surface gets wet | [`surface`] |
//! | dough's heat capacity, density, conductivity, the least heat of baking | [`dough`] |
//! | gas, its air, its flue gas and its water | [`combustion`] |
//!
//! # Cookbook
//!
//! A zone's dew point becomes moisture by volume, and the moisture a price:
//!
//! ```
//! use physics::air::{MoistAir, exhaust, station_pressure};
//! use physics::units::{Celsius, HumidityRatio, Metre};
//!
//! # fn main() -> Result<(), physics::OutOfRange> {
//! let pressure = station_pressure(Metre(95.0))?;
//! let zone = MoistAir::from_dew_point(Celsius(220.0), Celsius(80.0), pressure)?;
//! assert_eq!(format!("{:.1} % vol", 100.0 * zone.moisture().0), "47.3 % vol");
//!
//! let hall = MoistAir::from_humidity_ratio(Celsius(25.0), HumidityRatio(0.010), pressure)?;
//! let each = exhaust::per_water(&zone, &hall)?;
//! assert_eq!(format!("{:.0} kJ per kg of water", each.heat.0 / 1e3), "3286 kJ per kg of water");
//!
//! // A reading that cannot be says why.
//! let error = MoistAir::from_dew_point(Celsius(220.0), Celsius(101.0), pressure).unwrap_err();
//! assert_eq!(error.to_string(), "dew point 101 degC is outside -100 to 99.65869 degC");
//! # Ok(())
//! # }
//! ```
//!
//! Steam that goes in through a valve without a flow meter, and how much of it is waste:
//!
//! ```
//! use physics::steam::injection::{LONGEST_USEFUL_EXPOSURE, exposure};
//! use physics::steam::nozzle::Supply;
//! use physics::steam::valve::{Characteristic, Valve};
//! use physics::units::{Metre, MetrePerMinute, Pascal};
//!
//! # fn main() -> Result<(), physics::OutOfRange> {
//! let supply = Supply::saturated(Pascal::from_bar(1.5), 0.97)?;
//! let valve = Valve::from_kv(10.0, 0.7)?;
//! let flow = valve.flow(&supply, Pascal(101_325.0), 0.5, Characteristic::Linear)?;
//! assert_eq!(format!("{:.0} kg/h", flow.per_hour()), "87 kg/h");
//! assert!(exposure(Metre(1.2), MetrePerMinute(6.0))? > LONGEST_USEFUL_EXPOSURE);
//! # Ok(())
//! # }
//! ```

pub mod air;
pub mod combustion;
pub mod dough;
mod error;
mod molar_mass;
mod root;
pub mod saturation;
pub mod steam;
pub mod surface;
pub mod units;

pub use error::OutOfRange;
