//! Dough and bread as matter: heat capacity, density, conductivity, and the least heat of baking.
//!
//! From what the dough is made of: Choi and Okos 1986 ("Effects of temperature and composition on
//! the thermal properties of foods"), valid −40 to 150 °C, as reprinted in the ASHRAE Handbook
//! Refrigeration; coefficients from memory, compared with an open implementation. They describe
//! real foods within some 5 %. Gas in the dough enters by its volume (Maxwell and Eucken).

use crate::error::OutOfRange;
use crate::steam;
use crate::units::{Celsius, JoulePerKilogram, JoulePerKilogramKelvin, KilogramPerCubicMetre, WattPerMetreKelvin};

/// A quadratic in °C for each of heat capacity (kJ/(kg K)), conductivity (W/(m K)) and density
/// (kg/m³).
struct Constituent {
    heat_capacity: [f64; 3],
    conductivity: [f64; 3],
    density: [f64; 3],
}

const WATER: Constituent = Constituent {
    heat_capacity: [4.1762, -9.0864e-5, 5.4731e-6],
    conductivity: [0.571_09, 1.7625e-3, -6.7036e-6],
    density: [997.18, 3.1439e-3, -3.7574e-3],
};
const PROTEIN: Constituent = Constituent {
    heat_capacity: [2.0082, 1.2089e-3, -1.3129e-6],
    conductivity: [0.178_81, 1.1958e-3, -2.7178e-6],
    density: [1329.9, -0.5184, 0.0],
};
const FAT: Constituent = Constituent {
    heat_capacity: [1.9842, 1.4733e-3, -4.8008e-6],
    conductivity: [0.180_71, -2.7604e-4, -1.7749e-7],
    density: [925.59, -0.417_57, 0.0],
};
const CARBOHYDRATE: Constituent = Constituent {
    heat_capacity: [1.5488, 1.9625e-3, -5.9399e-6],
    conductivity: [0.201_41, 1.3874e-3, -4.3312e-6],
    density: [1599.1, -0.310_46, 0.0],
};
const ASH: Constituent = Constituent {
    heat_capacity: [1.0926, 1.8896e-3, -3.6817e-6],
    conductivity: [0.329_62, 1.4011e-3, -2.9069e-6],
    density: [2423.8, -0.280_63, 0.0],
};

/// Conductivity of the gas in the pores, W/(m K): dry air at 60 °C.
const GAS_CONDUCTIVITY: f64 = 0.029;

/// What a dough or a crumb is made of, by mass, and how much of its volume is gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dough {
    water: f64,
    protein: f64,
    fat: f64,
    ash: f64,
    gas: f64,
}

impl Dough {
    /// A lean wheat dough: its dry matter 13 % protein, 2 % fat, 2 % ash and salt, the rest starch
    /// and other carbohydrate (common practice for bread flour with salt and yeast).
    ///
    /// `water` is its share by mass, `gas` its share of gas by volume. Range: water 0.1 to 0.7,
    /// gas 0 to 0.9, else [`OutOfRange`].
    pub fn lean(water: f64, gas: f64) -> Result<Self, OutOfRange> {
        let dry = 1.0 - water;
        Self::of(water, 0.13 * dry, 0.02 * dry, 0.02 * dry, gas)
    }

    /// A dough by its shares of water, protein, fat and ash by mass, the rest carbohydrate, and of
    /// gas by volume.
    ///
    /// Range: water 0.1 to 0.7, protein, fat and ash 0 to what is left, gas 0 to 0.9, else
    /// [`OutOfRange`].
    pub fn of(water: f64, protein: f64, fat: f64, ash: f64, gas: f64) -> Result<Self, OutOfRange> {
        OutOfRange::unless_in(0.1..=0.7, "share of water in dough", water, "")?;
        OutOfRange::unless_in(0.0..=1.0 - water, "share of protein in dough", protein, "")?;
        OutOfRange::unless_in(0.0..=1.0 - water - protein, "share of fat in dough", fat, "")?;
        OutOfRange::unless_in(0.0..=1.0 - water - protein - fat, "share of ash in dough", ash, "")?;
        OutOfRange::unless_in(0.0..=0.9, "share of gas in dough", gas, "")?;
        Ok(Self { water, protein, fat, ash, gas })
    }

    /// Heat capacity per kg of dough, the sum over its constituents by mass.
    ///
    /// Range −10 to 150 °C, else [`OutOfRange`]; freezing is not in it.
    pub fn heat_capacity(&self, temperature: Celsius) -> Result<JoulePerKilogramKelvin, OutOfRange> {
        let t = in_range(temperature)?;
        let sum: f64 = self.shares().iter().map(|(of, share)| share * quadratic(&of.heat_capacity, t)).sum();
        Ok(JoulePerKilogramKelvin(sum * 1e3))
    }

    /// Density with its gas. Range −10 to 150 °C, else [`OutOfRange`].
    pub fn density(&self, temperature: Celsius) -> Result<KilogramPerCubicMetre, OutOfRange> {
        let t = in_range(temperature)?;
        Ok(KilogramPerCubicMetre((1.0 - self.gas) / self.specific_volume(t)))
    }

    /// Thermal conductivity with its gas: the constituents in parallel by volume, the gas as
    /// bubbles (Maxwell and Eucken).
    ///
    /// Range −10 to 150 °C, else [`OutOfRange`]. Above 60 °C water that evaporates on the warm and
    /// condenses on the cool side of a bubble carries more heat than this: it is not in it.
    pub fn conductivity(&self, temperature: Celsius) -> Result<WattPerMetreKelvin, OutOfRange> {
        let t = in_range(temperature)?;
        let parallel: f64 = self
            .shares()
            .iter()
            .map(|(of, share)| share / quadratic(&of.density, t) * quadratic(&of.conductivity, t))
            .sum();
        let solid = parallel / self.specific_volume(t);
        let lost = self.gas * (solid - GAS_CONDUCTIVITY);
        let twice = 2.0 * solid + GAS_CONDUCTIVITY;
        Ok(WattPerMetreKelvin(solid * (twice - 2.0 * lost) / (twice + lost)))
    }

    /// The least heat that bakes this dough: warming all of it from `start` to `end`, evaporating
    /// `bake_loss` of its mass.
    ///
    /// Per kg of dough. Range: temperatures 0 to 120 °C, `end` above `start`, bake loss 0 to the
    /// dough's water, else [`OutOfRange`]. Crust heating, baking chemistry (small) and the band
    /// are not in it. Source: enthalpy balance.
    pub fn least_heat(&self, start: Celsius, end: Celsius, bake_loss: f64) -> Result<LeastHeat, OutOfRange> {
        OutOfRange::unless_in(0.0..=120.0, "dough temperature", start.0, "degC")?;
        OutOfRange::unless_in(start.0..=120.0, "bread temperature", end.0, "degC")?;
        OutOfRange::unless_in(0.0..=self.water, "bake loss", bake_loss, "")?;
        let mean = self.heat_capacity(Celsius(0.5 * (start.0 + end.0)))?.0;
        Ok(LeastHeat {
            warming: JoulePerKilogram(mean * (end.0 - start.0)),
            evaporation: JoulePerKilogram(bake_loss * steam::latent_heat(end)?.0),
        })
    }

    fn shares(&self) -> [(Constituent, f64); 5] {
        let &Self { water, protein, fat, ash, .. } = self;
        let carbohydrate = 1.0 - water - protein - fat - ash;
        [(WATER, water), (PROTEIN, protein), (FAT, fat), (CARBOHYDRATE, carbohydrate), (ASH, ash)]
    }

    /// Without its gas, m³/kg.
    fn specific_volume(&self, t: f64) -> f64 {
        self.shares().iter().map(|(of, share)| share / quadratic(&of.density, t)).sum()
    }
}

/// The least heat of baking, J per kg of dough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeastHeat {
    /// To warm the dough.
    pub warming: JoulePerKilogram,
    /// To evaporate the bake loss.
    pub evaporation: JoulePerKilogram,
}

fn in_range(temperature: Celsius) -> Result<f64, OutOfRange> {
    OutOfRange::unless_in(-10.0..=150.0, "dough temperature", temperature.0, "degC")
}

fn quadratic(coefficients: &[f64; 3], t: f64) -> f64 {
    coefficients[0] + (coefficients[1] + coefficients[2] * t) * t
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn water_alone_is_the_wettest_constituent() {
        let wet = Dough::lean(0.6, 0.0).unwrap();
        let dry = Dough::lean(0.3, 0.0).unwrap();
        let at = Celsius(40.0);
        assert!(wet.heat_capacity(at).unwrap() > dry.heat_capacity(at).unwrap());
        assert!(wet.conductivity(at).unwrap() > dry.conductivity(at).unwrap());
        assert!(wet.density(at).unwrap() < dry.density(at).unwrap());
    }

    #[test]
    fn gas_lightens_and_insulates() {
        let tight = Dough::lean(0.44, 0.0).unwrap();
        let proofed = Dough::lean(0.44, 0.7).unwrap();
        let at = Celsius(40.0);
        assert!((proofed.density(at).unwrap().0 / tight.density(at).unwrap().0 - 0.3).abs() < 1e-12);
        let ratio = proofed.conductivity(at).unwrap().0 / tight.conductivity(at).unwrap().0;
        assert!((0.2..0.4).contains(&ratio), "{ratio}");
        assert_eq!(proofed.heat_capacity(at), tight.heat_capacity(at));
    }

    #[test]
    fn out_of_range_names_the_share() {
        let quantity = |result: Result<Dough, OutOfRange>| result.unwrap_err().quantity;
        assert_eq!(quantity(Dough::lean(0.05, 0.0)), "share of water in dough");
        assert_eq!(quantity(Dough::lean(f64::NAN, 0.0)), "share of water in dough");
        assert_eq!(quantity(Dough::lean(0.4, 0.95)), "share of gas in dough");
        assert_eq!(quantity(Dough::of(0.4, 0.7, 0.0, 0.0, 0.0)), "share of protein in dough");
        assert_eq!(quantity(Dough::of(0.4, 0.1, 0.0, 0.6, 0.0)), "share of ash in dough");
        let dough = Dough::lean(0.44, 0.0).unwrap();
        assert_eq!(dough.conductivity(Celsius(200.0)).unwrap_err().quantity, "dough temperature");
        assert_eq!(dough.least_heat(Celsius(28.0), Celsius(20.0), 0.1).unwrap_err().quantity, "bread temperature");
        assert_eq!(dough.least_heat(Celsius(28.0), Celsius(98.0), 0.5).unwrap_err().quantity, "bake loss");
    }
}
