//! The bakery: its lines, ovens and what measures them.

use std::sync::Arc;

use chrono::NaiveTime;
use chrono_tz::Tz;

use crate::crew::Crew;
use crate::product::Product;
use crate::tag::Tag;

/// A whole bakery.
#[derive(Debug, Clone, PartialEq)]
pub struct Bakery {
    /// Where its clock stands: shifts are local time.
    pub time_zone: Tz,
    /// When shifts begin, earliest first.
    pub shifts: Vec<NaiveTime>,
    /// Height above the sea, m.
    pub elevation_m: f64,
    /// What it can bake.
    pub products: Vec<Product>,
    /// Its ovens.
    pub lines: Vec<Line>,
}

/// A tunnel oven with its band.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Stands in the topics.
    pub id: Arc<str>,
    /// Zones in the order in which the band passes them.
    pub zones: Vec<Zone>,
    /// How heat gets into the zones.
    pub firing: Firing,
    /// Codes of the products it bakes. The first one sized the exhaust fans.
    pub products: Vec<String>,
    /// What the humidity probes show.
    pub humidity: HumidityProbe,
    /// Whether the dampers report where they stand.
    pub damper_signal: bool,
    /// Whether steam flow is measured.
    pub steam_signal: bool,
    /// Whether temperature and humidity of the air that the oven draws in are measured.
    pub hall_signals: bool,
    /// The crews that take turns at it.
    pub crews: Vec<Crew>,
}

/// A zone of an oven.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Length, m.
    pub length_m: f64,
    /// Where the damper stands for the line's first product at its nominal speed, %.
    pub damper_pct: f64,
}

/// How heat gets into the zones.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Firing {
    /// Gas burns in the zone: its water stays there.
    Direct,
    /// Gas burns behind a heat exchanger.
    Indirect,
    /// Electric heating: no gas signal.
    Electric,
}

/// What a humidity probe shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HumidityProbe {
    /// Dew point, °C, on topic `…/dew`.
    DewPoint,
    /// Moisture, % vol, on topic `…/moisture`.
    Moisture,
}

impl Bakery {
    /// Millbrook Bakery, invented: three tunnel ovens, three products, three crews.
    pub fn demo() -> Self {
        let mut tunnel_2 = Line::tunnel("tunnel-2", 6, 36.0);
        tunnel_2.humidity = HumidityProbe::Moisture;
        let mut tunnel_3 = Line::tunnel("tunnel-3", 5, 30.0);
        tunnel_3.damper_signal = false;
        let mut bakery = Self::millbrook_single();
        bakery.lines.extend([tunnel_2, tunnel_3]);
        bakery
    }

    /// Millbrook's tunnel-1 alone.
    pub fn millbrook_single() -> Self {
        Self::with_line(Line::tunnel("tunnel-1", 4, 28.0))
    }

    /// Millbrook's products, shifts and hill, with this one line.
    pub fn with_line(line: Line) -> Self {
        let at = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default();
        Self {
            time_zone: chrono_tz::Europe::London,
            shifts: vec![at(6), at(14), at(22)],
            elevation_m: 95.0,
            products: vec![Product::tin_loaf(), Product::batch_loaf(), Product::roll()],
            lines: vec![line],
        }
    }

    pub(crate) fn product_index(&self, code: &str) -> Option<usize> {
        self.products.iter().position(|product| product.code == code)
    }
}

impl Line {
    /// A directly fired tunnel of this many equal zones and this length (m), with every signal but the hall's.
    pub fn tunnel(id: &str, zones: usize, length_m: f64) -> Self {
        let zone = |at: usize| Zone {
            length_m: length_m / zones as f64,
            damper_pct: [34.0, 46.0, 50.0, 55.0, 52.0, 48.0][at % 6],
        };
        Self {
            id: id.into(),
            zones: (0..zones).map(zone).collect(),
            firing: Firing::Direct,
            products: ["T800", "B400", "R060"].map(String::from).to_vec(),
            humidity: HumidityProbe::DewPoint,
            damper_signal: true,
            steam_signal: true,
            hall_signals: false,
            crews: Crew::three(),
        }
    }

    /// Length of the oven, m.
    pub fn length_m(&self) -> f64 {
        self.zones.iter().map(|zone| zone.length_m).sum()
    }

    /// What the plant sends about this line.
    pub fn tags(&self) -> Vec<Tag> {
        let mut tags = vec![Tag::Band, Tag::Product, Tag::Feed];
        if self.steam_signal {
            tags.push(Tag::Steam);
        }
        if self.firing != Firing::Electric {
            tags.push(Tag::Gas);
        }
        for zone in 1..=self.zones.len() {
            tags.extend([Tag::Temperature(zone), Tag::Humidity(zone)]);
            if self.damper_signal {
                tags.push(Tag::Damper(zone));
            }
        }
        if self.hall_signals {
            tags.extend([Tag::HallTemperature, Tag::HallHumidity]);
        }
        tags
    }

    /// Where zones begin and end, as shares of the oven's length: one more than there are zones.
    pub(crate) fn borders(&self) -> Vec<f64> {
        let length = self.length_m();
        let mut reached = 0.0;
        let mut borders = vec![0.0];
        for zone in &self.zones {
            reached += zone.length_m / length;
            borders.push(reached);
        }
        borders
    }
}
