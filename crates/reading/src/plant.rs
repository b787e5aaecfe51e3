//! The plant as the config describes it: site, lines, zones, products.

use std::sync::Arc;

use physics::units::{Metre, MetrePerMinute, Pascal};

use crate::shift::ShiftCalendar;
use crate::signal::{LineIndex, SignalMap};

/// Everything about the plant that the data flow needs to know.
#[derive(Debug, Clone)]
pub struct Plant {
    /// The site: `a-z`, `0-9`, `-`; stands in topics and paths.
    pub site: Arc<str>,
    /// What people call it.
    pub name: String,
    /// Air pressure at the site.
    pub pressure: Pascal,
    /// When shifts begin, in local time.
    pub shifts: ShiftCalendar,
    /// The ovens.
    pub lines: Vec<Line>,
    /// What they bake.
    pub products: Vec<Product>,
    /// What is measured.
    pub signals: SignalMap,
}

impl Plant {
    /// The line with this id.
    #[must_use]
    pub fn line(&self, id: &str) -> Option<(LineIndex, &Line)> {
        let index = self.lines.iter().position(|line| &*line.id == id)?;
        Some((LineIndex(index), &self.lines[index]))
    }

    /// The product with this code.
    #[must_use]
    pub fn product(&self, code: &str) -> Option<&Product> {
        self.products.iter().find(|product| &*product.code == code)
    }
}

/// One tunnel oven with what feeds it.
#[derive(Debug, Clone)]
pub struct Line {
    /// `a-z`, `0-9`, `-`; stands in topics and paths.
    pub id: Arc<str>,
    /// What people call it.
    pub name: String,
    /// How it is heated.
    pub firing: Firing,
    /// What it burns, as written in the config.
    pub fuel: Option<String>,
    /// Length of band under steam.
    pub steam_section: Option<Metre>,
    /// Its zones in the direction of travel.
    pub zones: Vec<Zone>,
}

impl Line {
    /// Length of the oven: the sum of its zones.
    #[must_use]
    pub fn length(&self) -> Metre {
        Metre(self.zones.iter().map(|zone| zone.length.0).sum())
    }

    /// Band speed at which a product stays in the oven this long.
    #[must_use]
    pub fn speed_for_bake_time(&self, minutes: f64) -> MetrePerMinute {
        MetrePerMinute(self.length().0 / minutes)
    }
}

/// How an oven is heated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Firing {
    /// Combustion gas enters the baking chamber, and its water with it.
    Direct,
    /// Combustion gas stays in ducts or pipes.
    Indirect,
    /// No combustion.
    Electric,
}

/// One zone of an oven.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// Length along the band.
    pub length: Metre,
}

/// A product and what the trade knows of it before anything is learned.
#[derive(Debug, Clone)]
pub struct Product {
    /// What the plant sends on the product topic.
    pub code: Arc<str>,
    /// What people call it.
    pub name: String,
    /// Dough per metre of band, kg/m.
    pub dough_kg_per_m: Option<f64>,
    /// Dough mass lost in the oven, % of dough mass.
    pub bake_loss_pct: Option<f64>,
    /// Water in the dough, % of dough mass.
    pub dough_moisture_pct: Option<f64>,
    /// Nominal bake time, min.
    pub bake_time_min: Option<f64>,
    /// Hard limit for zone 3, % vol.
    pub max_zone3_moisture_pct: Option<f64>,
    /// The humidity profile to expect before one is learned.
    pub shape: Shape,
}

/// The humidity profile to expect of a product before one is learned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Peak in zone 1, falling in zone 2, dry in zone 3 (common practice for steamed bread).
    Steamed,
    /// Wettest in the middle of the oven.
    MidPeak,
    /// No expectation until one is learned.
    Learned,
}
