//! The band of every zone, drawn for a terminal.

use std::io::{self, Write};

use alert::message::moisture_pct;
use normal_profile::{Normal, ZoneExpectation};
use physics::units::MetrePerMinute;

use super::axis::Axis;
use super::{BAND, learned_speeds, speeds_between};

/// The low end, the mean and the high end of what a quantity shows in 95 of 100 windows.
struct Interval {
    low: f64,
    mean: f64,
    high: f64,
}

/// Draws what a normal expects at a speed, and lists what it expects at the ends of what it learned.
pub(super) fn write(normal: &Normal, speed: MetrePerMinute, out: &mut dyn Write) -> io::Result<()> {
    let expected = normal.expect(speed);
    if let Some(extrapolating) = expected.extrapolating {
        let beyond = extrapolating.beyond_pct;
        writeln!(
            out,
            "  {:.2} m/min is {beyond:.0} % outside the learned speeds: the nearest stands in, with a wider band",
            speed.0
        )?;
    }
    let humidities: Vec<Option<Interval>> = expected.zones.iter().map(|zone| Some(humidity(zone))).collect();
    let temperatures: Vec<Option<Interval>> = expected.zones.iter().map(temperature).collect();
    let highest = humidities.iter().flatten().map(|interval| interval.high).fold(0.0, f64::max);
    draw(&format!("Humidity at {:.2} m/min, % vol", speed.0), &Axis::over(0.0, highest), &humidities, out)?;
    let lowest = temperatures.iter().flatten().map(|interval| interval.low).fold(f64::INFINITY, f64::min);
    let highest = temperatures.iter().flatten().map(|interval| interval.high).fold(f64::NEG_INFINITY, f64::max);
    if lowest <= highest {
        let title = format!("Air temperature at {:.2} m/min, degC", speed.0);
        draw(&title, &Axis::over(lowest, highest), &temperatures, out)?;
    }
    write_speeds(normal, out)
}

fn draw(title: &str, axis: &Axis, zones: &[Option<Interval>], out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "\n  {title:<61}{:>8}  {:>16}", "usual", "95 of 100")?;
    writeln!(out, "          {}", axis.numbers())?;
    for (index, zone) in zones.iter().enumerate() {
        let name = format!("zone {}", index + 1);
        match zone {
            Some(Interval { low, mean, high }) => {
                let band = axis.band(*low, *mean, *high);
                writeln!(out, "  {name:<7} {band}  {mean:>8.1}  {:>16}", format!("{low:.1} to {high:.1}"))?;
            }
            None => writeln!(out, "  {name:<7} {:<51}  {:>8}", "", "-")?,
        }
    }
    Ok(())
}

/// What the zones usually hold at the slowest, the middle and the fastest learned speed.
fn write_speeds(normal: &Normal, out: &mut dyn Write) -> io::Result<()> {
    let (slowest, fastest) = learned_speeds(normal);
    let speeds = speeds_between(slowest, fastest);
    let expected = speeds.map(|speed| normal.expect(speed).zones);
    let heading: Vec<String> = speeds.iter().map(|speed| format!("{:>20}", format!("{:.2} m/min", speed.0))).collect();
    writeln!(out, "\n  Usual over the learned speeds\n         {}", heading.join("  "))?;
    for zone in 0..normal.record().columns.zones {
        let cell = |zones: &Vec<ZoneExpectation>| {
            let held = format!("{:.1} % vol", humidity(&zones[zone]).mean);
            let heat = temperature(&zones[zone]).map(|interval| format!(", {:>3.0} degC", interval.mean));
            format!("{:>20}", held + &heat.unwrap_or_default())
        };
        let cells: Vec<String> = expected.iter().map(cell).collect();
        writeln!(out, "  {:<7}{}", format!("zone {}", zone + 1), cells.join("  "))?;
    }
    Ok(())
}

fn humidity(zone: &ZoneExpectation) -> Interval {
    let band = zone.ln_humidity;
    let at = |sds: f64| moisture_pct(band.mean + sds * band.sd);
    Interval { low: at(-BAND), mean: at(0.0), high: at(BAND) }
}

fn temperature(zone: &ZoneExpectation) -> Option<Interval> {
    let at = |band: normal_profile::Band, sds: f64| band.mean + sds * band.sd;
    zone.temperature.map(|band| Interval { low: at(band, -BAND), mean: band.mean, high: at(band, BAND) })
}
