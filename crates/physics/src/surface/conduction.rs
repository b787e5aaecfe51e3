//! Heat conduction into the depth: finite volumes, implicit in time.

use super::Piece;

/// Cells from the surface downwards; no heat crosses the last face.
pub(super) struct Slab {
    temperatures: Vec<f64>,
    start: f64,
    /// Heat capacity of each cell, J/(m² K).
    capacities: Vec<f64>,
    /// Between each cell and the one above it, the first to the surface, W/(m² K).
    conductances: Vec<f64>,
    /// Depth of each cell's middle, m.
    middles: Vec<f64>,
    // For the time step that was prepared last: each cell's temperature is
    // `share` times that of the cell above it plus what the step's start contributes.
    shares: Vec<f64>,
    pivots: Vec<f64>,
    offsets: Vec<f64>,
}

impl Slab {
    pub(super) fn new(piece: &Piece, cells: usize) -> Self {
        // Quadratic spacing: most of the heat of a short exposure stays near the surface.
        let face = |i: usize| piece.depth.0 * (i as f64 / cells as f64).powi(2);
        let middles: Vec<f64> = (0..cells).map(|i| 0.5 * (face(i) + face(i + 1))).collect();
        let conductances = (0..cells)
            .map(|i| piece.conductivity.0 / (middles[i] - if i == 0 { 0.0 } else { middles[i - 1] }))
            .collect();
        Self {
            temperatures: vec![piece.temperature.0; cells],
            start: piece.temperature.0,
            capacities: (0..cells).map(|i| piece.heat_capacity * (face(i + 1) - face(i))).collect(),
            conductances,
            middles,
            shares: vec![0.0; cells],
            pivots: vec![0.0; cells],
            offsets: vec![0.0; cells],
        }
    }

    /// Eliminates the matrix of a backward Euler step once for all steps of this length.
    pub(super) fn prepare(&mut self, step: f64) {
        let cells = self.capacities.len();
        for i in (0..cells).rev() {
            let above = self.conductances[i];
            let below = if i + 1 < cells { self.conductances[i + 1] * (1.0 - self.shares[i + 1]) } else { 0.0 };
            self.pivots[i] = 1.0 / (self.capacities[i] / step + above + below);
            self.shares[i] = above * self.pivots[i];
        }
    }

    /// Begins a step: what flows into the slab at a surface temperature, as `conductance · T −
    /// offset`, W/m².
    pub(super) fn inflow(&mut self, step: f64) -> Inflow {
        let cells = self.capacities.len();
        for i in (0..cells).rev() {
            let below = if i + 1 < cells { self.conductances[i + 1] * self.offsets[i + 1] } else { 0.0 };
            self.offsets[i] = (self.capacities[i] / step * self.temperatures[i] + below) * self.pivots[i];
        }
        Inflow {
            conductance: self.conductances[0] * (1.0 - self.shares[0]),
            offset: self.conductances[0] * self.offsets[0],
        }
    }

    /// Ends the step with the surface temperature that was found.
    pub(super) fn settle(&mut self, surface: f64) {
        let mut above = surface;
        for ((temperature, share), offset) in self.temperatures.iter_mut().zip(&self.shares).zip(&self.offsets) {
            *temperature = offset + share * above;
            above = *temperature;
        }
    }

    /// Heat taken up since the beginning, J/m².
    pub(super) fn heat(&self) -> f64 {
        self.temperatures.iter().zip(&self.capacities).map(|(t, capacity)| capacity * (t - self.start)).sum()
    }

    /// The lowest and the highest temperature of a cell, °C.
    pub(super) fn extremes(&self) -> (f64, f64) {
        let ends = (f64::INFINITY, f64::NEG_INFINITY);
        self.temperatures.iter().fold(ends, |(low, high), t| (low.min(*t), high.max(*t)))
    }

    /// Depth (m) and temperature (°C) of each cell.
    pub(super) fn profile(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.middles.iter().copied().zip(self.temperatures.iter().copied())
    }
}

/// Heat flow into the slab over its surface temperature, in a step that has begun.
pub(super) struct Inflow {
    conductance: f64,
    offset: f64,
}

impl Inflow {
    /// W/m² at this surface temperature.
    pub(super) fn at(&self, surface: f64) -> f64 {
        self.conductance * surface - self.offset
    }
}
