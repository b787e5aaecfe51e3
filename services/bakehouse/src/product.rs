//! What is baked. The figures are invented, of the size that is common practice for tin bread.

use crate::drying::DryingCurve;

/// A product and the way its bakers want it baked.
#[derive(Debug, Clone, PartialEq)]
pub struct Product {
    /// What the plant sends as its product.
    pub code: String,
    /// What the bakers call it.
    pub name: String,
    /// Dough on a metre of band, kg/m.
    pub dough_kg_per_m: f64,
    /// Nominal bake time, min.
    pub bake_time_min: f64,
    /// Dough mass lost in the oven at the nominal bake time, as a share of the dough mass.
    pub bake_loss: f64,
    /// How the loss is spread over the time in the oven.
    pub drying: DryingCurve,
    /// Steam injected, kg per kg of dough.
    pub steam_kg_per_kg: f64,
    /// The moisture that each zone should hold, as a share by volume, zone 1 first. The last one
    /// stands for all zones that follow.
    pub moisture: Vec<f64>,
    /// Air temperatures at even distances from the oven's mouth to its end, °C.
    pub temperatures_c: Vec<f64>,
}

impl Product {
    /// T800, a tin loaf of 800 g.
    pub fn tin_loaf() -> Self {
        Self {
            code: "T800".into(),
            name: "Tin loaf 800 g".into(),
            dough_kg_per_m: 13.0,
            bake_time_min: 24.0,
            bake_loss: 0.105,
            drying: DryingCurve::new(2.0, 0.40),
            steam_kg_per_kg: 0.20,
            moisture: vec![0.42, 0.21, 0.100, 0.065, 0.057, 0.052, 0.050, 0.048],
            temperatures_c: vec![220.0, 240.0, 235.0, 215.0],
        }
    }

    /// B400, a batch loaf of 400 g.
    pub fn batch_loaf() -> Self {
        Self {
            code: "B400".into(),
            name: "Batch loaf 400 g".into(),
            dough_kg_per_m: 11.0,
            bake_time_min: 21.0,
            bake_loss: 0.115,
            drying: DryingCurve::new(1.9, 0.41),
            steam_kg_per_kg: 0.21,
            moisture: vec![0.45, 0.23, 0.092, 0.062, 0.055, 0.051, 0.049, 0.047],
            temperatures_c: vec![225.0, 245.0, 240.0, 220.0],
        }
    }

    /// R060, a soft roll of 60 g.
    pub fn roll() -> Self {
        Self {
            code: "R060".into(),
            name: "Soft roll 60 g".into(),
            dough_kg_per_m: 8.0,
            bake_time_min: 18.0,
            bake_loss: 0.125,
            drying: DryingCurve::new(1.8, 0.42),
            steam_kg_per_kg: 0.22,
            moisture: vec![0.38, 0.19, 0.085, 0.060, 0.054, 0.051, 0.049, 0.047],
            temperatures_c: vec![210.0, 230.0, 225.0, 205.0],
        }
    }

    /// The moisture that a zone should hold, as a share by volume. Zones count from 0.
    pub(crate) fn target_moisture(&self, zone: usize) -> f64 {
        let last = self.moisture.len().saturating_sub(1);
        self.moisture.get(zone.min(last)).copied().unwrap_or(0.05)
    }

    /// The air temperature wanted at a place in the oven, °C. The mouth is 0, the end 1.
    pub(crate) fn temperature_at(&self, place: f64) -> f64 {
        let last = self.temperatures_c.len().saturating_sub(1);
        let along = place.clamp(0.0, 1.0) * last as f64;
        let before = (along.floor() as usize).min(last);
        let after = (before + 1).min(last);
        let rest = along - before as f64;
        self.temperatures_c[before] * (1.0 - rest) + self.temperatures_c[after] * rest
    }
}
