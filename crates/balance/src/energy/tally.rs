//! Sums over the windows of a stretch of time, product by product. Sums of parts add up to the sum of the whole, so
//! that shifts become days, months and products without a second look at the readings.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use physics::air;
use physics::units::{HumidityRatio, MetrePerMinute};
use reading::{LineIndex, NumberSeries, Plant, Quantity, RunningState, Window};

use super::meter::{self, Readings};
use super::settings::EnergySettings;

/// A mean that more can be added to.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Mean {
    sum: f64,
    weight: f64,
}

impl Mean {
    fn push(&mut self, value: Option<f64>, weight: f64) {
        if let Some(value) = value {
            self.sum += value * weight;
            self.weight += weight;
        }
    }

    fn merge(&mut self, other: &Self) {
        self.sum += other.sum;
        self.weight += other.weight;
    }

    /// The mean, if anything was counted.
    #[must_use]
    pub fn value(&self) -> Option<f64> {
        (self.weight > 0.0).then(|| self.sum / self.weight)
    }

    /// Of how much time it is, h.
    pub(super) fn hours(&self) -> f64 {
        self.weight / 3600.0
    }
}

/// What a meter counted.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Metered {
    /// All of it, in the meter's unit.
    pub amount: f64,
    /// The part while no dough entered.
    pub idle: f64,
    /// For how long the meter is known to have said something, h.
    pub known_h: f64,
}

impl Metered {
    fn push(&mut self, amount: f64, known_s: f64, is_idle: bool) {
        self.amount += amount;
        self.idle += if is_idle { amount } else { 0.0 };
        self.known_h += known_s / 3600.0;
    }

    fn merge(&mut self, other: &Self) {
        self.amount += other.amount;
        self.idle += other.idle;
        self.known_h += other.known_h;
    }
}

/// Means of a zone while product was baked.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ZoneTally {
    /// Moisture, share by volume.
    pub moisture: Mean,
    /// Humidity ratio, kg/kg.
    pub humidity: Mean,
    /// Humidity ratio above that of the normal at the same speed, kg/kg; negative if drier.
    pub above_normal: Mean,
    /// Water that its exhaust carried off above what is normal, kg, negative if drier; for how long a learned balance
    /// says what it draws.
    pub excess: Metered,
    /// Air temperature, °C.
    pub temperature: Mean,
}

/// Sums over some time of a line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tally {
    /// The products that were in the oven.
    pub products: BTreeSet<Arc<str>>,
    /// All time of which anything is known, h.
    pub hours: f64,
    /// Time with the oven full of one product, h.
    pub baking_h: f64,
    /// Time in which dough entered, h.
    pub fed_h: f64,
    /// Dough that entered, kg, and for how long of `fed_h` it is known.
    pub dough: Metered,
    /// Water that it lost in the oven by the product's bake loss, kg.
    pub evaporated: Metered,
    /// What the counter of good product gained, kg; `None` without a counter.
    pub good_kg: Option<f64>,
    /// Gas, m³; `None` without a meter. The same for the next two.
    pub gas: Option<Metered>,
    /// Electricity, kWh.
    pub electricity: Option<Metered>,
    /// Steam, kg.
    pub steam: Option<Metered>,
    /// The part of the steam that did nothing: longer than useful, or without product; kg.
    pub wasted_steam_kg: f64,
    /// Mean band speed while baking, m/min.
    pub speed: Mean,
    /// Mean temperature of the air outside the oven, °C, where it is measured.
    pub ambient: Mean,
    /// Zone by zone.
    pub zones: Vec<ZoneTally>,
}

/// Humidity ratios that a normal expects of the zones, of a product at a band speed.
pub type ExpectedHumidity<'a> = &'a dyn Fn(&Arc<str>, MetrePerMinute) -> Option<Vec<HumidityRatio>>;
/// Dry air that the zones' exhausts drew in a window by a product's water balance, kg/h.
pub type DrawnAir<'a> = &'a dyn Fn(&Arc<str>, &Window) -> Option<Vec<f64>>;

/// What was learned of the products of a line; the answers are `None` where nothing was.
#[derive(Clone, Copy)]
pub struct Known<'a> {
    /// By the normals.
    pub humidity: ExpectedHumidity<'a>,
    /// By the balances.
    pub exhaust: DrawnAir<'a>,
}

/// Sums the windows of a line, product by product; the windows of which nobody knows the product come under `None`.
///
/// `readings` are those of the line from before the first window to the end of the last; others are passed over.
#[must_use]
pub fn tally(
    plant: &Plant,
    line: LineIndex,
    windows: &[Window],
    readings: &[NumberSeries],
    settings: &EnergySettings,
    known: Known<'_>,
) -> BTreeMap<Option<Arc<str>>, Tally> {
    let meters = Meters::of(plant, line, readings);
    let mut tallies: BTreeMap<Option<Arc<str>>, Tally> = BTreeMap::new();
    for window in windows {
        let tally = tallies.entry(window.product.clone()).or_insert_with(|| meters.empty(window));
        tally.count(plant, line, window, &meters, settings);
        if window.state == RunningState::Baking {
            tally.count_air(window, known);
        }
    }
    tallies
}

/// The meters that a line has.
struct Meters {
    gas: Option<Readings>,
    electricity: Option<Readings>,
    steam: Option<Readings>,
    good: Option<Readings>,
    ambient: Option<Readings>,
}

impl Meters {
    fn of(plant: &Plant, line: LineIndex, readings: &[NumberSeries]) -> Self {
        let of = |quantity| meter::of_line(plant, line, quantity, readings);
        Self {
            gas: of(Quantity::GasFlow),
            electricity: of(Quantity::ElectricPower),
            steam: of(Quantity::SteamFlow),
            good: of(Quantity::GoodMass).filter(|readings| !readings.is_empty()),
            ambient: of(Quantity::AmbientTemperature),
        }
    }

    fn empty(&self, window: &Window) -> Tally {
        let metered = |meter: &Option<Readings>| meter.as_ref().map(|_| Metered::default());
        Tally {
            products: window.product.iter().cloned().collect(),
            gas: metered(&self.gas),
            electricity: metered(&self.electricity),
            steam: metered(&self.steam),
            good_kg: self.good.as_ref().map(|_| 0.0),
            zones: vec![ZoneTally::default(); window.zones.len()],
            ..Tally::default()
        }
    }
}

impl Tally {
    fn count(&mut self, plant: &Plant, line: LineIndex, window: &Window, meters: &Meters, settings: &EnergySettings) {
        let (starts, ends) = (window.starts, window.ends);
        let hours = (ends - starts).as_seconds() / 3600.0;
        let is_fed = window.fed.unwrap_or(window.state == RunningState::Baking);
        self.hours += hours;
        self.baking_h += if window.state == RunningState::Baking { hours } else { 0.0 };
        if is_fed {
            self.fed_h += hours;
            self.count_dough(plant, window, hours);
        }
        // A rate an hour, summed over seconds, is an amount after division by 3600.
        let rate = |meter: &Option<Readings>| {
            let (sum, known) = meter.as_ref()?.integral(starts, ends);
            Some((sum / 3600.0, known))
        };
        let metered = |into: &mut Option<Metered>, meter| {
            if let (Some(into), Some((amount, known))) = (into.as_mut(), rate(meter)) {
                into.push(amount, known, !is_fed);
            }
        };
        metered(&mut self.gas, &meters.gas);
        metered(&mut self.electricity, &meters.electricity);
        metered(&mut self.steam, &meters.steam);
        if let Some((steam, _)) = rate(&meters.steam) {
            let useful = if is_fed { useful_share(plant, line, window, settings) } else { 0.0 };
            self.wasted_steam_kg += steam.max(0.0) * (1.0 - useful);
        }
        if let (Some(good_kg), Some(good)) = (self.good_kg.as_mut(), &meters.good) {
            *good_kg += good.gained(starts, ends);
        }
        if let Some((sum, known)) = meters.ambient.as_ref().map(|ambient| ambient.integral(starts, ends)) {
            self.ambient.push((known > 0.0).then(|| sum / known), known);
        }
    }

    /// Dough enters at the speed of the band, as densely as the product lies.
    fn count_dough(&mut self, plant: &Plant, window: &Window, hours: f64) {
        let product = window.product.as_ref().and_then(|code| plant.product(code));
        let density = product.and_then(|product| product.dough_kg_per_m);
        let Some(dough) = density.zip(window.band_speed).map(|(density, speed)| density * speed.0 * 60.0 * hours)
        else {
            return;
        };
        self.dough.push(dough, 3600.0 * hours, false);
        if let Some(loss) = product.and_then(|product| product.bake_loss_pct) {
            self.evaporated.push(dough * loss / 100.0, 3600.0 * hours, false);
        }
    }

    fn count_air(&mut self, window: &Window, known: Known<'_>) {
        let seconds = (window.ends - window.starts).as_seconds();
        self.speed.push(window.band_speed.map(|speed| speed.0), seconds);
        let product = window.product.as_ref();
        let expected = product.zip(window.band_speed).and_then(|(product, speed)| (known.humidity)(product, speed));
        let exhaust = product.and_then(|product| (known.exhaust)(product, window));
        for (place, (zone, tally)) in window.zones.iter().zip(&mut self.zones).enumerate() {
            let moisture = zone.humidity.and_then(|ratio| air::moisture_from_humidity_ratio(ratio).ok());
            tally.moisture.push(moisture.map(|moisture| moisture.0), seconds);
            tally.humidity.push(zone.humidity.map(|ratio| ratio.0), seconds);
            tally.temperature.push(zone.air_temperature.map(|temperature| temperature.0), seconds);
            let normal = expected.as_ref().and_then(|zones| zones.get(place));
            let above = zone.humidity.zip(normal).map(|(found, normal)| found.0 - normal.0);
            tally.above_normal.push(above, seconds);
            let drawn = exhaust.as_ref().and_then(|zones| zones.get(place));
            if let Some((above, drawn)) = above.zip(drawn) {
                tally.excess.push(above * drawn * seconds / 3600.0, seconds, false);
            }
        }
    }

    /// Adds the sums of another time or product of the same line.
    pub fn merge(&mut self, other: &Self) {
        self.products.extend(other.products.iter().cloned());
        self.hours += other.hours;
        self.baking_h += other.baking_h;
        self.fed_h += other.fed_h;
        self.dough.merge(&other.dough);
        self.evaporated.merge(&other.evaporated);
        self.wasted_steam_kg += other.wasted_steam_kg;
        self.good_kg = add(self.good_kg, other.good_kg, |a, b| a + b);
        for (mine, theirs) in
            [(&mut self.gas, &other.gas), (&mut self.electricity, &other.electricity), (&mut self.steam, &other.steam)]
        {
            *mine = add(*mine, *theirs, |mut a, b| {
                a.merge(&b);
                a
            });
        }
        self.speed.merge(&other.speed);
        self.ambient.merge(&other.ambient);
        self.zones.resize(self.zones.len().max(other.zones.len()), ZoneTally::default());
        for (mine, theirs) in self.zones.iter_mut().zip(&other.zones) {
            mine.moisture.merge(&theirs.moisture);
            mine.humidity.merge(&theirs.humidity);
            mine.above_normal.merge(&theirs.above_normal);
            mine.excess.merge(&theirs.excess);
            mine.temperature.merge(&theirs.temperature);
        }
    }
}

/// Both together, or whichever there is.
fn add<T>(a: Option<T>, b: Option<T>, sum: impl Fn(T, T) -> T) -> Option<T> {
    match (a, b) {
        (Some(a), Some(b)) => Some(sum(a, b)),
        (a, b) => a.or(b),
    }
}

/// Share of the steam that product is under for no longer than is useful; all of it where nobody knows.
fn useful_share(plant: &Plant, line: LineIndex, window: &Window, settings: &EnergySettings) -> f64 {
    let section = plant.lines[line.0].steam_section;
    let exposure = section
        .zip(window.band_speed)
        .and_then(|(section, speed)| physics::steam::injection::exposure(section, speed).ok());
    exposure.map_or(1.0, |exposure| (settings.useful_steam.0 / exposure.0).min(1.0))
}
