//! A type for each unit that can be confused with another.
//!
//! The field is public: these types keep a moisture fraction from being passed where a humidity
//! ratio is meant, they do not guard a range. Ranges are checked by the formulas that have one.
//! Inside the crate everything is SI with °C; numbers without a unit stay `f64`.

macro_rules! unit {
    ($(#[$doc:meta] $name:ident;)*) => {$(
        #[$doc]
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
        pub struct $name(pub f64);
    )*};
}

unit! {
    /// Temperature, °C.
    Celsius;
    /// Absolute pressure, Pa.
    Pascal;
    /// Length or elevation, m.
    Metre;
    /// Area, m².
    SquareMetre;
    /// Band speed, m/min.
    MetrePerMinute;
    /// Speed, m/s.
    MetrePerSecond;
    /// Time, s.
    Seconds;
    /// Share of water vapour in moist air by volume, 0 to 1 (the trade says "% vol").
    MoistureFraction;
    /// Mass of water vapour per mass of dry air, kg/kg.
    HumidityRatio;
    /// Heat or enthalpy per mass, J/kg. Of what mass (dry air, water, dough) its user says.
    JoulePerKilogram;
    /// Heat capacity or entropy, J/(kg K).
    JoulePerKilogramKelvin;
    /// Heat per area, J/m².
    JoulePerSquareMetre;
    /// Calorific value by volume, J per normal cubic metre (0 °C, 101.325 kPa).
    JoulePerNormalCubicMetre;
    /// Density, kg/m³.
    KilogramPerCubicMetre;
    /// Specific volume, m³/kg. Of what mass its user says.
    CubicMetrePerKilogram;
    /// Mass per area, kg/m².
    KilogramPerSquareMetre;
    /// Mass flow, kg/s.
    KilogramPerSecond;
    /// Mass per heat, kg per kWh.
    KilogramPerKilowattHour;
    /// Thermal conductivity, W/(m K).
    WattPerMetreKelvin;
    /// Heat transfer coefficient, W/(m² K).
    WattPerSquareMetreKelvin;
}

/// 0 °C on the Kelvin scale.
const FREEZING_KELVIN: f64 = 273.15;

impl Celsius {
    /// Absolute temperature, K.
    #[inline]
    #[must_use]
    pub const fn kelvin(self) -> f64 {
        self.0 + FREEZING_KELVIN
    }

    /// The temperature that is `kelvin` K above absolute zero.
    #[inline]
    #[must_use]
    pub const fn from_kelvin(kelvin: f64) -> Self {
        Self(kelvin - FREEZING_KELVIN)
    }
}

impl Pascal {
    /// An absolute pressure given in bar.
    #[must_use]
    pub const fn from_bar(bar: f64) -> Self {
        Self(bar * 1e5)
    }

    /// An absolute pressure given in kPa.
    #[must_use]
    pub const fn from_kilopascal(kilopascal: f64) -> Self {
        Self(kilopascal * 1e3)
    }
}

impl KilogramPerSecond {
    /// The flow in kg/h, as plants write it.
    #[must_use]
    pub const fn per_hour(self) -> f64 {
        self.0 * 3600.0
    }
}
