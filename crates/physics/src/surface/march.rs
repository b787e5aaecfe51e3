//! The march through time: one surface temperature per step that balances what comes and goes.

use super::conduction::Slab;
use super::exchange::{Exchange, Flux};
use super::{Balance, Exposure, GELATINISATION, Grid, Piece, Stage};
use crate::air::heat;
use crate::error::OutOfRange;
use crate::root::root;
use crate::units::{Celsius, JoulePerSquareMetre, KilogramPerSquareMetre, Metre, Seconds};

const MOST_STEPS: f64 = 1e6;

/// Exposes a piece to stages one after another.
///
/// Range: conductivity 0.01 to 5 W/(m K), heat capacity 1e4 to 1e7 J/(m³ K), depth 0.1 mm to 1 m,
/// temperature 0 to 95 °C, emissivity 0 to 1; convection 0.1 to 1000 W/(m² K), radiant temperature
/// −60 to 800 °C, duration 1 ms to 3600 s; cells 4 to 5000, at most a million steps; else
/// [`OutOfRange`]. Energy and mass close to rounding; second order in the grid if the step goes
/// with its square. Equations and what is left out: see the module.
pub fn expose(piece: &Piece, stages: &[Stage], grid: Grid) -> Result<Exposure, OutOfRange> {
    check(piece, stages, grid)?;
    let mut march = March::new(piece, grid);
    for stage in stages {
        march.through(piece, stage, grid);
    }
    Ok(march.end())
}

struct March {
    slab: Slab,
    time: f64,
    surface: f64,
    film: f64,
    gone: Exposure,
}

impl March {
    fn new(piece: &Piece, grid: Grid) -> Self {
        let nothing = JoulePerSquareMetre(0.0);
        let dry = KilogramPerSquareMetre(0.0);
        Self {
            slab: Slab::new(piece, grid.cells),
            time: 0.0,
            surface: piece.temperature.0,
            film: 0.0,
            gone: Exposure {
                wetted: Seconds(0.0),
                condensate: dry,
                film: dry,
                gelatinised: None,
                gelatinised_while_wet: false,
                surface: Vec::new(),
                profile: Vec::new(),
                balance: Balance {
                    convected: nothing,
                    radiated: nothing,
                    vapour: nothing,
                    in_dough: nothing,
                    in_film: nothing,
                    evaporated: dry,
                },
            },
        }
    }

    fn through(&mut self, piece: &Piece, stage: &Stage, grid: Grid) {
        let exchange = Exchange::new(piece, stage);
        let steps = (stage.duration.0 / grid.step.0).ceil().max(1.0);
        let step = stage.duration.0 / steps;
        self.slab.prepare(step);
        for _ in 0..steps as u64 {
            self.advance(&exchange, stage, step);
        }
    }

    fn advance(&mut self, exchange: &Exchange, stage: &Stage, step: f64) {
        let inflow = self.slab.inflow(step);
        let (film, before) = (self.film, self.surface);
        let held = film * heat::liquid(before);
        let flux_at = |surface: f64| exchange.at(surface, film / step);
        // Heat that reaches the surface less what the slab and the film take up: falls with the
        // surface temperature.
        let left_over = |surface: f64| {
            let flux = flux_at(surface);
            let film_after = film + flux.condensed * step;
            let film_gain = (film_after * heat::liquid(surface) - held) / step;
            flux.convected + flux.radiated + flux.condensed * heat::vapour(surface) - film_gain - inflow.at(surface)
        };
        let (air, radiant) = (stage.air.temperature().0, stage.radiant.0);
        let (coldest, hottest) = self.slab.extremes();
        // An evaporating film cools the surface below all that surrounds it, but hardly to frost. Once it is gone, the
        // dough below warms the surface again.
        let lowest = before.min(coldest).min(air).min(radiant).min(0.0) - 30.0;
        let highest = before.max(hottest).max(air).max(radiant).max(exchange.dew_point()) + 1.0;
        self.surface = root(left_over, lowest, highest);
        self.slab.settle(self.surface);
        self.record(flux_at(self.surface), before, exchange.dew_point(), step);
    }

    fn record(&mut self, flux: Flux, before: f64, dew_point: f64, step: f64) {
        let moved = flux.condensed * step;
        self.film = (self.film + moved).max(0.0);
        let balance = &mut self.gone.balance;
        balance.convected.0 += flux.convected * step;
        balance.radiated.0 += flux.radiated * step;
        balance.vapour.0 += moved * heat::vapour(self.surface);
        if moved > 0.0 {
            self.gone.condensate.0 += moved;
        } else {
            balance.evaporated.0 -= moved;
        }
        self.gone.wetted.0 += step * share_below(dew_point, before, self.surface);
        if self.gone.gelatinised.is_none() && self.surface >= GELATINISATION.0 {
            let into = step * share_below(GELATINISATION.0, before, self.surface);
            self.gone.gelatinised = Some(Seconds(self.time + into));
            self.gone.gelatinised_while_wet = GELATINISATION.0 < dew_point;
        }
        self.time += step;
        self.gone.surface.push((Seconds(self.time), Celsius(self.surface)));
    }

    fn end(self) -> Exposure {
        let Self { slab, surface, film, mut gone, .. } = self;
        gone.film = KilogramPerSquareMetre(film);
        gone.profile = slab.profile().map(|(depth, t)| (Metre(depth), Celsius(t))).collect();
        gone.balance.in_dough = JoulePerSquareMetre(slab.heat());
        gone.balance.in_film = JoulePerSquareMetre(film * heat::liquid(surface));
        gone
    }
}

/// The share of a step, straight from `before` to `after`, that lies below `limit`.
fn share_below(limit: f64, before: f64, after: f64) -> f64 {
    match (before < limit, after < limit) {
        (true, true) => 1.0,
        (false, false) => 0.0,
        (true, false) => (limit - before) / (after - before),
        (false, true) => (limit - after) / (before - after),
    }
}

fn check(piece: &Piece, stages: &[Stage], grid: Grid) -> Result<(), OutOfRange> {
    OutOfRange::unless_in(0.01..=5.0, "dough conductivity", piece.conductivity.0, "W/(m K)")?;
    OutOfRange::unless_in(1e4..=1e7, "dough heat capacity by volume", piece.heat_capacity, "J/(m3 K)")?;
    OutOfRange::unless_in(1e-4..=1.0, "dough depth", piece.depth.0, "m")?;
    OutOfRange::unless_in(0.0..=95.0, "dough temperature", piece.temperature.0, "degC")?;
    OutOfRange::unless_in(0.0..=1.0, "emissivity", piece.emissivity, "")?;
    OutOfRange::unless_in(4.0..=5000.0, "number of cells", grid.cells as f64, "")?;
    for stage in stages {
        OutOfRange::unless_in(0.1..=1000.0, "convection", stage.convection.0, "W/(m2 K)")?;
        OutOfRange::unless_in(-60.0..=800.0, "radiant temperature", stage.radiant.0, "degC")?;
        OutOfRange::unless_in(1e-3..=3600.0, "duration of a stage", stage.duration.0, "s")?;
        OutOfRange::unless_in(
            1.0 / MOST_STEPS..=f64::MAX,
            "time step over duration",
            grid.step.0 / stage.duration.0,
            "",
        )?;
    }
    Ok(())
}
