//! Where an oven's heat goes. Closure is shown, not forced: what no line explains has a line of its own.

use crate::water::ZoneState;

/// One use of heat.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatLine {
    /// What it is for.
    pub name: &'static str,
    /// How much, kW (or kWh over the same time as the supply).
    pub kw: f64,
    /// Share of the supply, %.
    pub share_pct: f64,
}

/// A supply of heat and its uses.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatBalance {
    /// What goes in, kW.
    pub supplied_kw: f64,
    /// The uses; the last one is what is unaccounted, below 0 where the uses exceed the supply.
    pub lines: Vec<HeatLine>,
}

impl HeatBalance {
    /// Holds uses against what is supplied, above 0.
    #[must_use]
    pub fn new(supplied_kw: f64, uses: &[(&'static str, f64)]) -> Self {
        let used: f64 = uses.iter().map(|(_, kw)| kw).sum();
        let line = |name, kw| HeatLine { name, kw, share_pct: 100.0 * kw / supplied_kw };
        let mut lines: Vec<HeatLine> = uses.iter().map(|(name, kw)| line(*name, *kw)).collect();
        lines.push(line("unaccounted", supplied_kw - used));
        Self { supplied_kw, lines }
    }

    /// An oven as the water balance sees it, against what is measured to go in.
    #[must_use]
    pub fn of_oven(supplied_kw: f64, zones: &[ZoneState]) -> Self {
        let sum = |of: fn(&ZoneState) -> f64| zones.iter().map(of).sum::<f64>();
        let uses = [
            ("dough and evaporation", sum(|zone| zone.dough_kw)),
            ("exhaust", sum(|zone| zone.exhaust_kw)),
            ("walls", sum(|zone| zone.wall_kw)),
        ];
        Self::new(supplied_kw, &uses)
    }

    /// The line of this name.
    #[must_use]
    pub fn line(&self, name: &str) -> Option<&HeatLine> {
        self.lines.iter().find(|line| line.name == name)
    }
}
