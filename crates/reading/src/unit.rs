//! Units a plant sends, and their way to the unit used for calculation.

/// A unit: `base = value * factor + offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// As written in the config.
    pub name: &'static str,
    factor: f64,
    offset: f64,
}

impl Unit {
    const fn new(name: &'static str, factor: f64) -> Self {
        Self { name, factor, offset: 0.0 }
    }

    /// `(factor, offset)` of the way to the unit used for calculation, for whoever goes it elsewhere.
    #[must_use]
    pub fn to_base_by(self) -> (f64, f64) {
        (self.factor, self.offset)
    }

    /// The value in the unit used for calculation (the first one of the quantity).
    #[must_use]
    pub fn to_base(self, value: f64) -> f64 {
        value * self.factor + self.offset
    }
}

macro_rules! units {
    ($($constant:ident $name:literal $factor:expr;)*) => {
        $(pub(crate) const $constant: Unit = Unit::new($name, $factor);)*
    };
}

// Exact by definition: international foot and pound (1959), psi from them and standard gravity.
units! {
    METRE_PER_MINUTE "m/min" 1.0;
    FOOT_PER_MINUTE "ft/min" 0.3048;
    MINUTE "min" 1.0;
    SECOND "s" 1.0 / 60.0;
    TEXT "text" 1.0;
    PIECES_PER_MINUTE "pieces/min" 1.0;
    SWITCH "0/1" 1.0;
    SWITCH_PERCENT "0/1" 100.0;
    KILOGRAM_PER_HOUR "kg/h" 1.0;
    POUND_PER_HOUR "lb/h" 0.453_592_37;
    PERCENT "%" 1.0;
    BAR "bar" 1.0;
    KILOPASCAL "kPa" 0.01;
    PSI "psi" 0.068_947_572_931_683_6;
    CUBIC_METRE_PER_HOUR "m3/h" 1.0;
    CUBIC_FOOT_PER_HOUR "ft3/h" 0.028_316_846_592;
    KILOWATT "kW" 1.0;
    KILOGRAM "kg" 1.0;
    CELSIUS "degC" 1.0;
    PERCENT_BY_VOLUME "% vol" 1.0;
    KILOGRAM_PER_KILOGRAM "kg/kg" 1.0;
    GRAM_PER_KILOGRAM "g/kg" 0.001;
}

pub(crate) const FAHRENHEIT: Unit = Unit { name: "degF", factor: 5.0 / 9.0, offset: -160.0 / 9.0 };
