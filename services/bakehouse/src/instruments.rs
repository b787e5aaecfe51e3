//! The instruments of a line: they look at the running line and say what they see.

use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use physics::air;
use physics::units::{MoistureFraction, Pascal};

use crate::bakery::HumidityProbe;
use crate::running_line::{RunningLine, STEP_S};
use crate::sensor::{Fault, Lag, Quality, Transmitter};
use crate::tag::Tag;

/// The lagging probes of a line: they follow the line step by step.
pub(crate) struct Probes {
    temperature_c: Vec<Lag>,
    moisture: Vec<Lag>,
    gas_m3_h: Lag,
    humidity: HumidityProbe,
    /// Pressure of the air outside and in the oven.
    pressure: Pascal,
}

impl Probes {
    pub(crate) fn new(line: &RunningLine, humidity: HumidityProbe, pressure: Pascal, rng: &mut impl Rng) -> Self {
        let zones = 0..line.oven.zones();
        Self {
            temperature_c: zones
                .clone()
                .map(|zone| Lag::new(line.air.temperature_c(zone), rng.gen_range(20.0..40.0), STEP_S))
                .collect(),
            moisture: zones
                .map(|zone| Lag::new(line.air.moisture(&line.oven, zone), rng.gen_range(60.0..120.0), STEP_S))
                .collect(),
            gas_m3_h: Lag::new(line.gas_m3_h(), 60.0, STEP_S),
            humidity,
            pressure,
        }
    }

    pub(crate) fn step(&mut self, line: &RunningLine) {
        for (zone, lag) in self.temperature_c.iter_mut().enumerate() {
            lag.step(line.air.temperature_c(zone));
        }
        for (zone, lag) in self.moisture.iter_mut().enumerate() {
            lag.step(line.air.moisture(&line.oven, zone));
        }
        self.gas_m3_h.step(line.gas_m3_h());
    }

    /// What the probe of this signal feels, in its unit.
    fn feel(&self, tag: Tag, line: &RunningLine) -> f64 {
        match tag {
            Tag::Band => line.controls.band_speed() * 60.0 * line.controls.speed_tag_scale.value(),
            Tag::Feed => f64::from(u8::from(line.fed())),
            Tag::Product => 0.0,
            Tag::Steam => line.steam_kg_h(),
            Tag::Gas => self.gas_m3_h.value(),
            Tag::HallTemperature => line.outside.temperature_c,
            Tag::HallHumidity => 100.0 * line.outside.relative_humidity(self.pressure),
            Tag::Temperature(zone) => self.temperature_c[zone - 1].value(),
            Tag::Damper(zone) => line.controls.damper(zone - 1) * 100.0,
            Tag::Humidity(zone) => {
                let moisture = self.moisture[zone - 1].value();
                match self.humidity {
                    HumidityProbe::Moisture => moisture * 100.0,
                    HumidityProbe::DewPoint => dew_point_c(moisture, self.pressure),
                }
            }
        }
    }
}

/// The dew point shown for this moisture (by volume); 0 °C where the air is drier than that.
fn dew_point_c(moisture: f64, pressure: Pascal) -> f64 {
    air::dew_point_from_moisture(MoistureFraction(moisture), pressure).map_or(0.0, |dew| dew.0)
}

/// One signal: its transmitter and how its readings are carried.
pub(crate) struct Instrument {
    tag: Tag,
    transmitter: Transmitter,
    rng: Xoshiro256PlusPlus,
}

/// What an instrument says, and how it arrives.
pub(crate) struct Said {
    pub(crate) value: f64,
    pub(crate) decimals: u8,
    pub(crate) late_by: chrono::TimeDelta,
    pub(crate) twice: bool,
}

impl Instrument {
    pub(crate) fn new(tag: Tag, humidity: HumidityProbe, interval_s: f64, seed: u64) -> Self {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed);
        let transmitter = Transmitter::new(quality(tag, humidity), interval_s, &mut rng);
        Self { tag, transmitter, rng }
    }

    /// What is said now; nothing while the signal is lost.
    pub(crate) fn say(&mut self, probes: &Probes, line: &RunningLine, now_s: f64) -> Option<Said> {
        let (mut drift, mut frozen, mut lost, mut twice) = (0.0, false, false, false);
        let mut late_by = chrono::TimeDelta::zero();
        for (fault, since_s) in line.controls.faults(self.tag) {
            match fault {
                Fault::Freeze => frozen = true,
                Fault::Drift { per_hour } => drift += per_hour * (now_s - since_s) / 3600.0,
                Fault::Dropout => lost = true,
                Fault::Late { by } => late_by = by,
                Fault::Duplicate { share } => twice = self.rng.gen_bool(share.clamp(0.0, 1.0)),
            }
        }
        let felt = probes.feel(self.tag, line);
        let value = self.transmitter.show(felt, drift, frozen, &mut self.rng);
        (!lost).then(|| Said { value, decimals: self.transmitter.decimals(), late_by, twice })
    }
}

fn quality(tag: Tag, humidity: HumidityProbe) -> Quality {
    let quality = |bias, noise, wander, decimals, cut_off| Quality { bias, noise, wander, decimals, cut_off };
    match (tag, humidity) {
        (Tag::Band, _) => quality(0.0, 0.0015, 0.0005, 3, 0.02),
        (Tag::Product | Tag::Feed, _) => quality(0.0, 0.0, 0.0, 0, 0.0),
        (Tag::Steam, _) => quality(0.0, 0.8, 0.3, 1, 4.0),
        (Tag::Gas, _) => quality(0.0, 0.25, 0.1, 1, 1.0),
        (Tag::Temperature(_), _) => quality(0.8, 0.5, 0.2, 1, 0.0),
        (Tag::HallTemperature, _) => quality(0.3, 0.1, 0.1, 1, -40.0),
        (Tag::HallHumidity, _) => quality(1.5, 0.3, 0.3, 1, 0.0),
        (Tag::Damper(_), _) => quality(0.0, 0.06, 0.0, 1, 0.0),
        (Tag::Humidity(_), HumidityProbe::DewPoint) => quality(0.4, 0.2, 0.1, 1, 0.0),
        (Tag::Humidity(_), HumidityProbe::Moisture) => quality(0.2, 0.12, 0.06, 1, 0.0),
    }
}
