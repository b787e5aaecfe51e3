//! The band of every zone, drawn for a terminal.

use std::io::{self, Write};

use normal_profile::{Normal, ZoneExpectation};
use physics::units::MetrePerMinute;

use super::axis::Axis;
use super::shown::Shown;
use super::{learned_speeds, speeds_between};

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
    let humidities: Vec<Option<Shown>> = expected.zones.iter().map(|zone| Some(Shown::humidity(zone))).collect();
    let temperatures: Vec<Option<Shown>> = expected.zones.iter().map(Shown::temperature).collect();
    let highest = humidities.iter().flatten().map(|shown| shown.high).fold(0.0, f64::max);
    draw(&format!("Humidity at {:.2} m/min, % vol", speed.0), &Axis::over(0.0, highest), &humidities, out)?;
    let lowest = temperatures.iter().flatten().map(|shown| shown.low).fold(f64::INFINITY, f64::min);
    let highest = temperatures.iter().flatten().map(|shown| shown.high).fold(f64::NEG_INFINITY, f64::max);
    if lowest <= highest {
        let title = format!("Air temperature at {:.2} m/min, degC", speed.0);
        draw(&title, &Axis::over(lowest, highest), &temperatures, out)?;
    }
    write_speeds(normal, out)
}

fn draw(title: &str, axis: &Axis, zones: &[Option<Shown>], out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "\n  {title:<61}{:>8}  {:>16}", "usual", "95 of 100")?;
    writeln!(out, "          {}", axis.numbers())?;
    for (index, zone) in zones.iter().enumerate() {
        let name = format!("zone {}", index + 1);
        match zone {
            Some(Shown { usual, low, high }) => {
                let band = axis.band(*low, *usual, *high);
                writeln!(out, "  {name:<7} {band}  {usual:>8.1}  {:>16}", format!("{low:.1} to {high:.1}"))?;
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
            let held = format!("{:.1} % vol", Shown::humidity(&zones[zone]).usual);
            let heat = Shown::temperature(&zones[zone]).map(|shown| format!(", {:>3.0} degC", shown.usual));
            format!("{:>20}", held + &heat.unwrap_or_default())
        };
        let cells: Vec<String> = expected.iter().map(cell).collect();
        writeln!(out, "  {:<7}{}", format!("zone {}", zone + 1), cells.join("  "))?;
    }
    Ok(())
}
