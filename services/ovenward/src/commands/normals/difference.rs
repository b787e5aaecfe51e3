//! What has changed from one normal to another.

use std::io::{self, Write};

use normal_profile::{Normal, ZoneExpectation};
use physics::units::MetrePerMinute;
use serde::Serialize;

use super::shown::Shown;
use super::{learned_speeds, signed, speeds_between, standing};
use crate::failure::Failure;

/// Two normals of ovens with as many zones, side by side.
#[derive(Debug, Serialize)]
pub(crate) struct NormalDifference {
    before: Side,
    after: Side,
    /// At the slowest, the middle and the fastest speed that both have learned; none if they share no speed.
    at: Vec<AtSpeed>,
}

/// What one of the two rests on.
#[derive(Debug, Serialize)]
struct Side {
    id: String,
    standing: &'static str,
    hours: f64,
    runs: usize,
    windows_used: usize,
    windows_left_out: usize,
    slowest_m_min: f64,
    fastest_m_min: f64,
    rises_learned_from: usize,
    /// Share of each way of running, %, the most usual first.
    ways_of_running_pct: Vec<f64>,
}

/// Both profiles at one speed.
#[derive(Debug, Serialize)]
struct AtSpeed {
    speed_m_min: f64,
    zones: Vec<ZoneChange>,
}

#[derive(Debug, Serialize)]
struct ZoneChange {
    zone: usize,
    moisture_pct: Change,
    /// None where a normal has no air temperature of the zone.
    air_temperature_c: Option<Change>,
}

#[derive(Debug, Clone, Copy, Serialize)]
struct Change {
    before: Shown,
    after: Shown,
    change: f64,
    /// Whether what is usual now would have been out of the ordinary before.
    outside_band_before: bool,
}

impl NormalDifference {
    /// Compares two normals.
    ///
    /// # Errors
    /// They are of ovens with other numbers of zones.
    pub(crate) fn between(before: &Normal, after: &Normal) -> Result<Self, Failure> {
        let zones = |normal: &Normal| normal.record().columns.zones;
        if zones(before) != zones(after) {
            return Err(Failure::usage(format!(
                "{} has {} zones and {} has {}; compare normals of ovens with as many zones",
                before.key(),
                zones(before),
                after.key(),
                zones(after)
            )));
        }
        let ((slowest, fastest), (slowest_after, fastest_after)) = (learned_speeds(before), learned_speeds(after));
        let slowest = MetrePerMinute(slowest.0.max(slowest_after.0));
        let fastest = MetrePerMinute(fastest.0.min(fastest_after.0));
        let shared = if slowest.0 <= fastest.0 { speeds_between(slowest, fastest).to_vec() } else { Vec::new() };
        let at = shared.into_iter().map(|speed| AtSpeed::of(before, after, speed)).collect();
        Ok(Self { before: Side::of(before), after: Side::of(after), at })
    }

    /// Writes the difference for a terminal of 100 columns.
    pub(super) fn write_text(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "{:<22}{:>24}{:>24}", "", self.before.id, self.after.id)?;
        for (name, row) in SIDE_ROWS {
            writeln!(out, "{name:<22}{:>24}{:>24}", row(&self.before), row(&self.after))?;
        }
        if self.at.is_empty() {
            return writeln!(out, "\nThey share no speed, so that their profiles cannot be compared.");
        }
        for at in &self.at {
            at.write_text(out)?;
        }
        let marked = self.at.iter().flat_map(|at| &at.zones).any(|zone| {
            zone.moisture_pct.outside_band_before
                || zone.air_temperature_c.is_some_and(|change| change.outside_band_before)
        });
        let legend = if marked {
            "* usual now, and outside the band of 95 windows in 100 before"
        } else {
            "What is usual now lies within the band of before everywhere."
        };
        writeln!(out, "\n{legend}")
    }
}

type SideRow = (&'static str, fn(&Side) -> String);

const SIDE_ROWS: [SideRow; 8] = [
    ("standing", |side| side.standing.into()),
    ("hours of baking", |side| format!("{:.1}", side.hours)),
    ("runs", |side| side.runs.to_string()),
    ("windows used", |side| side.windows_used.to_string()),
    ("windows left out", |side| side.windows_left_out.to_string()),
    ("speeds, m/min", |side| format!("{:.2} to {:.2}", side.slowest_m_min, side.fastest_m_min)),
    ("rises learned from", |side| side.rises_learned_from.to_string()),
    ("ways of running", |side| {
        let shares: Vec<String> = side.ways_of_running_pct.iter().map(|share| format!("{share:.0} %")).collect();
        shares.join(", ")
    }),
];

impl Side {
    fn of(normal: &Normal) -> Self {
        let record = normal.record();
        Self {
            id: normal.key().to_string(),
            standing: standing(normal),
            hours: record.data.hours,
            runs: record.data.runs,
            windows_used: record.data.windows_used,
            windows_left_out: record.data.windows_given - record.data.windows_used,
            slowest_m_min: record.speeds.slowest_m_min,
            fastest_m_min: record.speeds.fastest_m_min,
            rises_learned_from: record.rises.as_ref().map_or(0, |rises| rises.used),
            ways_of_running_pct: record.mixture.components.iter().map(|way| way.weight * 100.0).collect(),
        }
    }
}

impl AtSpeed {
    fn of(before: &Normal, after: &Normal, speed: MetrePerMinute) -> Self {
        let (before, after) = (before.expect(speed).zones, after.expect(speed).zones);
        let zone = |(index, (before, after)): (usize, (&ZoneExpectation, &ZoneExpectation))| {
            let temperatures = Shown::temperature(before).zip(Shown::temperature(after));
            ZoneChange {
                zone: index + 1,
                moisture_pct: Change::between(Shown::humidity(before), Shown::humidity(after)),
                air_temperature_c: temperatures.map(|(before, after)| Change::between(before, after)),
            }
        };
        Self { speed_m_min: speed.0, zones: before.iter().zip(&after).enumerate().map(zone).collect() }
    }

    fn write_text(&self, out: &mut dyn Write) -> io::Result<()> {
        let title = format!("At {:.2} m/min", self.speed_m_min);
        writeln!(out, "\n{title:<16}{:>40}{:>40}", "humidity, % vol", "air temperature, degC")?;
        for zone in &self.zones {
            let name = format!("  zone {}", zone.zone);
            let temperature = zone.air_temperature_c.map_or_else(|| "-".into(), |change| change.in_words());
            let line = format!("{name:<16}{:>40}{temperature:>40}", zone.moisture_pct.in_words());
            writeln!(out, "{}", line.trim_end())?;
        }
        Ok(())
    }
}

impl Change {
    fn between(before: Shown, after: Shown) -> Self {
        Self {
            before,
            after,
            change: after.usual - before.usual,
            outside_band_before: !(before.low..=before.high).contains(&after.usual),
        }
    }

    /// Such as `10.1 ± 0.6 → 11.4 ± 0.7   +1.3 *`.
    fn in_words(&self) -> String {
        let shown = |it: Shown| format!("{:.1} ± {:.1}", it.usual, (it.high - it.low) / 2.0);
        let mark = if self.outside_band_before { '*' } else { ' ' };
        format!("{} → {}  {:>6} {mark}", shown(self.before), shown(self.after), signed(self.change))
    }
}
