//! How an oven is run: as it usually is, as its crews run it at another speed, or otherwise.

use serde::{Deserialize, Serialize};

use crate::exhaust::Draught;
use crate::settings::Ambient;
use crate::steady::SteadyBlock;

/// A way of running the oven, in what people set.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// Band speed, m/min.
    pub speed_m_min: f64,
    /// Exhaust of each zone.
    pub draught: Vec<Draught>,
    /// Air temperature of each zone, °C.
    pub temperatures_c: Vec<f64>,
    /// Steam over the usual steam.
    pub steam_ratio: f64,
    /// Humidity of the air that it draws in, kg/kg; none if nobody knows it.
    pub ambient_humidity: Option<f64>,
}

/// The middle of history, and what crews do with dampers and steam at another speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Usual {
    /// Band speed, m/min.
    pub speed_m_min: f64,
    /// Dough at that speed, kg/h.
    pub dough_kg_h: f64,
    /// Air temperature of each zone, °C.
    pub temperatures_c: Vec<f64>,
    /// Damper opening of each zone, 0 to 1; none without damper signals.
    pub openings: Option<Vec<f64>>,
    /// By how much crews open each damper for each unit of ln speed.
    pub opening_by_ln_speed: Vec<f64>,
    /// Steam flow, kg/h; none without its signal.
    pub steam_kg_h: Option<f64>,
    /// Relative change of steam for each unit of ln speed.
    pub steam_by_ln_speed: f64,
    /// The air that the oven drew in; none without its signals. Left out then, as in files of before it was looked at.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ambient: Option<MeasuredAir>,
}

/// Air as it was measured over history.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredAir {
    /// Median of its humidity ratio, kg/kg.
    pub humidity: f64,
    /// How far that goes with weather and season, kg/kg, one standard deviation.
    pub spread: f64,
}

impl Usual {
    /// The medians of history, and straight lines through dampers and steam against ln speed.
    pub(crate) fn of(blocks: &[&SteadyBlock], zones: usize, dough_kg_per_m: f64) -> Self {
        let median = |of: &dyn Fn(&SteadyBlock) -> f64| {
            let known: Vec<f64> = blocks.iter().map(|block| of(block)).filter(|value| value.is_finite()).collect();
            if 2 * known.len() < blocks.len().max(1) { None } else { Some(normal_profile::statistics::median(&known)) }
        };
        let speed = median(&|block| block.speed_m_min).unwrap_or(1.0);
        let line =
            |of: &dyn Fn(&SteadyBlock) -> f64| slope(blocks.iter().map(|b| ((b.speed_m_min / speed).ln(), of(b))));
        let openings: Option<Vec<f64>> = (0..zones).map(|zone| median(&|block| block.opening[zone])).collect();
        let steam = median(&|block| block.steam_kg_h);
        let ambient: Vec<f64> = blocks.iter().map(|block| block.ambient_humidity).filter(|w| w.is_finite()).collect();
        Self {
            speed_m_min: speed,
            dough_kg_h: dough_kg_per_m * speed * 60.0,
            // Without a temperature signal the drying curve holds at whatever it is.
            temperatures_c: (0..zones).map(|z| median(&|block| block.temperature_c[z]).unwrap_or(220.0)).collect(),
            opening_by_ln_speed: match &openings {
                Some(_) => (0..zones).map(|zone| line(&|block| block.opening[zone])).collect(),
                None => vec![0.0; zones],
            },
            openings,
            steam_by_ln_speed: steam.map_or(0.0, |steam| line(&|block| block.steam_kg_h / steam)),
            steam_kg_h: steam,
            ambient: median(&|block| block.ambient_humidity)
                .map(|humidity| MeasuredAir { humidity, spread: standard_deviation(&ambient) }),
        }
    }

    /// Humidity of the air that the oven usually draws in, kg/kg: as measured, or that of any bakery hall.
    #[must_use]
    pub fn ambient_humidity(&self) -> f64 {
        self.ambient.map_or(Ambient::HALL.humidity.0, |air| air.humidity)
    }

    /// Nothing touched but the band: exhaust, temperatures and steam as usual.
    #[must_use]
    pub fn untouched(&self, speed_m_min: f64) -> Running {
        let draught = match &self.openings {
            Some(openings) => openings.iter().map(|opening| Draught::Opening(*opening)).collect(),
            None => vec![Draught::Ratio(1.0); self.temperatures_c.len()],
        };
        Running {
            speed_m_min,
            draught,
            temperatures_c: self.temperatures_c.clone(),
            steam_ratio: 1.0,
            ambient_humidity: None,
        }
    }

    /// Run as the crews in history would, dampers and steam moved with the speed.
    #[must_use]
    pub fn practised(&self, speed_m_min: f64) -> Running {
        let faster = speed_m_min / self.speed_m_min;
        let draught = match &self.openings {
            Some(openings) => {
                let moved = openings.iter().zip(&self.opening_by_ln_speed);
                moved.map(|(at, by)| Draught::Opening((at + by * faster.ln()).clamp(0.0, 1.0))).collect()
            }
            None => vec![Draught::Practised(faster); self.temperatures_c.len()],
        };
        let steam_ratio = (1.0 + self.steam_by_ln_speed * faster.ln()).max(0.0);
        Running { draught, steam_ratio, ..self.untouched(speed_m_min) }
    }

    /// As a block of history was run; what it does not know is taken as usual.
    #[must_use]
    pub fn of_block(&self, block: &SteadyBlock) -> Running {
        let mut running = self.practised(block.speed_m_min);
        for (zone, opening) in block.opening.iter().enumerate().filter(|(_, opening)| opening.is_finite()) {
            if self.openings.is_some() {
                running.draught[zone] = Draught::Opening(*opening);
            }
        }
        for (zone, celsius) in block.temperature_c.iter().enumerate().filter(|(_, celsius)| celsius.is_finite()) {
            running.temperatures_c[zone] = *celsius;
        }
        if let Some(usual) = self.steam_kg_h.filter(|usual| *usual > 0.0 && block.steam_kg_h.is_finite()) {
            running.steam_ratio = block.steam_kg_h / usual;
        }
        running.ambient_humidity = Some(block.ambient_humidity).filter(|humidity| humidity.is_finite());
        running
    }
}

fn standard_deviation(values: &[f64]) -> f64 {
    let count = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / count;
    (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / count).sqrt()
}

/// Slope of the least-squares line through points; 0 where x does not move.
fn slope(points: impl Iterator<Item = (f64, f64)>) -> f64 {
    let known: Vec<(f64, f64)> = points.filter(|(x, y)| x.is_finite() && y.is_finite()).collect();
    let count = known.len().max(1) as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| known.iter().map(of).sum::<f64>() / count;
    let (x, y) = (mean(|point| point.0), mean(|point| point.1));
    let across: f64 = known.iter().map(|point| (point.0 - x).powi(2)).sum();
    let along: f64 = known.iter().map(|point| (point.0 - x) * (point.1 - y)).sum();
    if across / count < 1e-4 { 0.0 } else { along / across }
}
