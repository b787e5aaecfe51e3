//! What fuel gases are made of.

use super::Fuel;
use crate::molar_mass;

/// A component of a fuel gas.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Component {
    /// CH₄.
    Methane,
    /// C₂H₆.
    Ethane,
    /// C₃H₈.
    Propane,
    /// 2-methylpropane, C₄H₁₀.
    Isobutane,
    /// n-butane, C₄H₁₀.
    Butane,
    /// 2-methylbutane, C₅H₁₂.
    Isopentane,
    /// n-pentane, C₅H₁₂.
    Pentane,
    /// n-hexane, C₆H₁₄.
    Hexane,
    /// H₂.
    Hydrogen,
    /// CO.
    CarbonMonoxide,
    /// CO₂: burns no further and goes into the flue gas.
    CarbonDioxide,
    /// N₂: goes through the flame unchanged.
    Nitrogen,
}

/// What a mole of a component is made of and gives.
struct Mole {
    carbon: f64,
    hydrogen: f64,
    oxygen: f64,
    nitrogen: f64,
    /// kg/mol.
    mass: f64,
    /// Gross heat of combustion at 25 °C, J/mol.
    gross: f64,
}

impl Component {
    /// Molar masses and gross heats of combustion at 25 °C: ISO 6976:2016, typed from memory.
    fn mole(self) -> Mole {
        let alkane = |carbon: f64, mass: f64, gross: f64| Mole {
            carbon,
            hydrogen: 2.0 * carbon + 2.0,
            oxygen: 0.0,
            nitrogen: 0.0,
            mass: mass * 1e-3,
            gross: gross * 1e3,
        };
        let nothing = Mole { carbon: 0.0, hydrogen: 0.0, oxygen: 0.0, nitrogen: 0.0, mass: 0.0, gross: 0.0 };
        match self {
            Self::Methane => alkane(1.0, 16.042_46, 890.58),
            Self::Ethane => alkane(2.0, 30.069_04, 1_560.69),
            Self::Propane => alkane(3.0, 44.095_62, 2_219.17),
            Self::Isobutane => alkane(4.0, 58.122_2, 2_868.20),
            Self::Butane => alkane(4.0, 58.122_2, 2_877.40),
            Self::Isopentane => alkane(5.0, 72.148_78, 3_528.83),
            Self::Pentane => alkane(5.0, 72.148_78, 3_535.77),
            Self::Hexane => alkane(6.0, 86.175_36, 4_194.95),
            Self::Hydrogen => Mole { hydrogen: 2.0, mass: 2.015_88e-3, gross: 285.83e3, ..nothing },
            Self::CarbonMonoxide => Mole { carbon: 1.0, oxygen: 1.0, mass: 28.010_1e-3, gross: 282.98e3, ..nothing },
            Self::CarbonDioxide => Mole { carbon: 1.0, oxygen: 2.0, mass: molar_mass::CARBON_DIOXIDE, ..nothing },
            Self::Nitrogen => Mole { nitrogen: 2.0, mass: 28.013_4e-3, ..nothing },
        }
    }

    /// Adds `share` moles of this component to a mole of fuel.
    pub(super) fn add_to(self, fuel: &mut Fuel, share: f64) {
        let Mole { carbon, hydrogen, oxygen, nitrogen, mass, gross } = self.mole();
        fuel.mass += share * mass;
        fuel.gross += share * gross;
        fuel.oxygen += share * (carbon + hydrogen / 4.0 - oxygen / 2.0);
        fuel.carbon_dioxide += share * carbon;
        fuel.water += share * hydrogen / 2.0;
        fuel.nitrogen += share * nitrogen / 2.0;
    }
}
