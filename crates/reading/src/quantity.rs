//! What a signal measures, and the units in which a plant may send it.

use serde::{Deserialize, Serialize};

use crate::unit::{self, Unit};

macro_rules! quantities {
    ($($variant:ident $name:literal $level:ident [$($unit:ident),*];)*) => {
        /// What a signal measures.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Quantity {
            $(#[doc = concat!("`", $name, "` in the config.")] $variant,)*
        }

        impl Quantity {
            /// Every quantity.
            pub const ALL: &'static [Self] = &[$(Self::$variant),*];

            /// Its key in the config.
            #[must_use]
            pub fn name(self) -> &'static str {
                match self { $(Self::$variant => $name),* }
            }

            /// Whether it belongs to a zone, not to the whole line.
            #[must_use]
            pub fn of_zone(self) -> bool {
                match self { $(Self::$variant => matches!(Level::$level, Level::Zone)),* }
            }

            /// The units it may be sent in; the first is the one used for calculation.
            #[must_use]
            pub fn units(self) -> &'static [Unit] {
                match self { $(Self::$variant => &[$(unit::$unit),*]),* }
            }
        }
    };
}

enum Level {
    Line,
    Zone,
}

quantities! {
    BandSpeed "band_speed" Line [METRE_PER_MINUTE, FOOT_PER_MINUTE];
    BakeTime "bake_time" Line [MINUTE, SECOND];
    Product "product" Line [TEXT];
    DividerRate "divider_rate" Line [PIECES_PER_MINUTE];
    Feed "feed" Line [SWITCH];
    SteamFlow "steam_flow" Line [KILOGRAM_PER_HOUR, POUND_PER_HOUR];
    SteamValve "steam_valve" Line [PERCENT, SWITCH_PERCENT];
    SteamPressure "steam_pressure" Line [BAR, KILOPASCAL, PSI];
    GasFlow "gas_flow" Line [CUBIC_METRE_PER_HOUR, CUBIC_FOOT_PER_HOUR];
    ElectricPower "electric_power" Line [KILOWATT];
    GoodMass "good_mass" Line [KILOGRAM];
    AmbientTemperature "ambient_temperature" Line [CELSIUS, FAHRENHEIT];
    AmbientHumidity "ambient_humidity" Line [PERCENT];
    AirTemperature "air_temperature" Zone [CELSIUS, FAHRENHEIT];
    DewPoint "dew_point" Zone [CELSIUS, FAHRENHEIT];
    Moisture "moisture" Zone [PERCENT_BY_VOLUME];
    HumidityRatio "humidity_ratio" Zone [KILOGRAM_PER_KILOGRAM, GRAM_PER_KILOGRAM];
    ExhaustDamper "exhaust_damper" Zone [PERCENT];
    ExhaustFlow "exhaust_flow" Zone [KILOGRAM_PER_HOUR, CUBIC_METRE_PER_HOUR];
    Burner "burner" Zone [PERCENT];
}

impl Quantity {
    /// The quantity with this key in the config.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|quantity| quantity.name() == name)
    }

    /// The unit with this name, if the quantity may be sent in it.
    #[must_use]
    pub fn unit(self, name: &str) -> Option<Unit> {
        self.units().iter().copied().find(|unit| unit.name == name)
    }

    /// Whether it is the humidity of air, in whatever form.
    #[must_use]
    pub fn is_humidity(self) -> bool {
        matches!(self, Self::DewPoint | Self::Moisture | Self::HumidityRatio)
    }

    /// Whether its value is a text (the product code), not a number.
    #[must_use]
    pub fn is_text(self) -> bool {
        self == Self::Product
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_quantity_is_found_by_its_name_and_has_a_unit() {
        for &quantity in Quantity::ALL {
            assert_eq!(Quantity::from_name(quantity.name()), Some(quantity));
            assert!(!quantity.units().is_empty(), "{}", quantity.name());
        }
    }

    #[test]
    fn fahrenheit_and_feet_become_celsius_and_metres() {
        let fahrenheit = Quantity::DewPoint.unit("degF").expect("a unit");
        assert!((fahrenheit.to_base(176.0) - 80.0).abs() < 1e-9);
        let feet = Quantity::BandSpeed.unit("ft/min").expect("a unit");
        assert!((feet.to_base(10.0) - 3.048).abs() < 1e-12);
        assert_eq!(Quantity::Moisture.unit("degC"), None);
    }
}
