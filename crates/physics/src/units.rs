//! A type for each unit that can be confused with another.
//!
//! The field is public: these types keep a moisture fraction from being passed where a humidity
//! ratio is meant, they do not guard a range. Ranges are checked by the formulas that have one.

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
    /// Band speed, m/min.
    MetrePerMinute;
    /// Share of water vapour in moist air by volume, 0 to 1 (the trade says "% vol").
    MoistureFraction;
    /// Mass of water vapour per mass of dry air, kg/kg.
    HumidityRatio;
    /// Time, s.
    Seconds;
}
