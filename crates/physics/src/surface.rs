//! The surface of dough under steam: does it get wet, for how long, and how warm while it is wet.
//!
//! Heat is conducted into the dough in one dimension. The surface takes heat from the air by
//! convection, from its surroundings by radiation, and from vapour that condenses on it while it
//! is below the dew point; later the film evaporates again. Vapour moves through the air by
//! diffusion and the flow that it makes itself (film theory: Ackermann 1937, Colburn and Drew
//! 1937), its coefficient by the analogy of Lewis.
//!
//! **What it leaves out.** The dough's own water does not evaporate: once the film has gone the
//! surface of a real dough stays cooler than this one. So it answers for the steam section, not
//! for the bake. A core temperature is validated elsewhere, never inferred from this.
//!
//! # How long is my steam useful?
//!
//! Steam does its work while it condenses: until the surface has reached the dew point.
//!
//! ```
//! use physics::air::MoistAir;
//! use physics::dough::Dough;
//! use physics::surface::{Grid, Piece, Stage, expose};
//! use physics::units::{Celsius, Metre, Pascal, Seconds, WattPerSquareMetreKelvin};
//!
//! # fn main() -> Result<(), physics::OutOfRange> {
//! // A proofed piece, 60 mm thick and heated from both sides, enters zone 1 at 32 °C.
//! let piece = Piece::of_dough(&Dough::lean(0.43, 0.6)?, Celsius(32.0), Metre(0.03))?;
//! // Zone 1: air of 180 °C with a dew point of 85 °C, walls of 200 °C.
//! let zone_1 = Stage {
//!     air: MoistAir::from_dew_point(Celsius(180.0), Celsius(85.0), Pascal(101_325.0))?,
//!     radiant: Celsius(200.0),
//!     convection: WattPerSquareMetreKelvin(25.0),
//!     duration: Seconds(30.0),
//! };
//! let exposure = expose(&piece, &[zone_1], Grid::default())?;
//!
//! // The steam is useful for the first dozen seconds; what is injected longer meets a surface that
//! // no longer takes it up.
//! assert!((10.0..15.0).contains(&exposure.wetted.0), "{:?}", exposure.wetted);
//! // Until then it has left some twenty grams of water on each square metre,
//! assert!((0.01..0.03).contains(&exposure.condensate.0), "{:?}", exposure.condensate);
//! // and the surface has passed the gelatinisation of starch while it was wet: it will shine.
//! assert!(exposure.gelatinised_while_wet);
//! # Ok(())
//! # }
//! ```

mod conduction;
mod exchange;
mod march;

pub use march::expose;

use crate::air::MoistAir;
use crate::dough::Dough;
use crate::error::OutOfRange;
use crate::units::{
    Celsius, JoulePerSquareMetre, KilogramPerSquareMetre, Metre, Seconds, WattPerMetreKelvin, WattPerSquareMetreKelvin,
};

/// Temperature that a wet surface has to pass for its starch to gelatinise and shine (common
/// practice, no source).
pub const GELATINISATION: Celsius = Celsius(77.0);

/// The dough that is exposed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Conductivity.
    pub conductivity: WattPerMetreKelvin,
    /// Heat capacity by volume, J/(m³ K): density times heat capacity.
    pub heat_capacity: f64,
    /// Depth to the plane that no heat crosses: half the thickness if both sides are alike.
    pub depth: Metre,
    /// Temperature when it enters.
    pub temperature: Celsius,
    /// Share of radiation that the surface takes up, 0 to 1; dough 0.9 (common practice).
    pub emissivity: f64,
}

impl Piece {
    /// A piece of this dough, with the properties that it has at `temperature` and an emissivity
    /// of 0.9. [`OutOfRange`] as [`Dough::conductivity`].
    pub fn of_dough(dough: &Dough, temperature: Celsius, depth: Metre) -> Result<Self, OutOfRange> {
        Ok(Self {
            conductivity: dough.conductivity(temperature)?,
            heat_capacity: dough.density(temperature)?.0 * dough.heat_capacity(temperature)?.0,
            depth,
            temperature,
            emissivity: 0.9,
        })
    }
}

/// What the dough meets for a while.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stage {
    /// The air.
    pub air: MoistAir,
    /// Temperature of what the surface sees: walls, burners, band.
    pub radiant: Celsius,
    /// Convection without the effect of condensing vapour; 5 to 50 in ovens (common practice).
    pub convection: WattPerSquareMetreKelvin,
    /// How long.
    pub duration: Seconds,
}

/// How finely time and depth are cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// Cells over the depth, narrower towards the surface.
    pub cells: usize,
    /// Longest time step.
    pub step: Seconds,
}

impl Default for Grid {
    /// Within 0.01 K, 0.2 % of condensate and 0.02 s of wetted time of a grid eight times finer.
    fn default() -> Self {
        Self { cells: 100, step: Seconds(0.02) }
    }
}

/// What became of the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Exposure {
    /// Time during which vapour condensed: the surface was below the dew point of its air.
    pub wetted: Seconds,
    /// All that condensed.
    pub condensate: KilogramPerSquareMetre,
    /// What has not evaporated again at the end.
    pub film: KilogramPerSquareMetre,
    /// When the surface first passed [`GELATINISATION`], if it did.
    pub gelatinised: Option<Seconds>,
    /// Whether it passed [`GELATINISATION`] while vapour condensed on it.
    pub gelatinised_while_wet: bool,
    /// Surface temperature at the end of each time step.
    pub surface: Vec<(Seconds, Celsius)>,
    /// Temperature at the end by depth below the surface.
    pub profile: Vec<(Metre, Celsius)>,
    /// Where the heat came from and where it is.
    pub balance: Balance,
}

/// Heat and water per area of surface, from the beginning to the end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Heat that came by convection.
    pub convected: JoulePerSquareMetre,
    /// Heat that came by radiation.
    pub radiated: JoulePerSquareMetre,
    /// Enthalpy of the vapour that condensed less that of the vapour that evaporated, counted from
    /// liquid water.
    pub vapour: JoulePerSquareMetre,
    /// Heat in the dough, from the temperatures at the end.
    pub in_dough: JoulePerSquareMetre,
    /// Heat in the film, counted from liquid water.
    pub in_film: JoulePerSquareMetre,
    /// Water that evaporated again.
    pub evaporated: KilogramPerSquareMetre,
}

impl Balance {
    /// What came in less what is there, over all heat that moved: 0 if energy is conserved.
    #[must_use]
    pub fn energy_gap(&self) -> f64 {
        let came = self.convected.0 + self.radiated.0 + self.vapour.0;
        let there = self.in_dough.0 + self.in_film.0;
        let moved = self.convected.0.abs() + self.radiated.0.abs() + self.vapour.0.abs();
        if moved == 0.0 { came - there } else { (came - there) / moved }
    }
}
