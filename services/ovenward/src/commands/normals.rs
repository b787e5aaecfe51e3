//! `ovenward normals`: list, show, approve, retire.

use std::io::Write;

use clap::Subcommand;
use normal_profile::{LeftOutReason, Normal, Standing};
use physics::units::MetrePerMinute;
use reading::Timestamp;

use super::learn::person;
use crate::config::Settings;
use crate::failure::Failure;
use crate::normal_files::NormalFiles;
use crate::service::PlantClock;

/// What to do with normals; lists them if nothing is said.
#[derive(Debug, Subcommand)]
pub enum NormalsCommand {
    /// Use this normal; the one in use before is retired.
    Approve {
        /// Such as tunnel-1/T800/3.
        id: String,
    },
    /// No longer use this normal.
    Retire {
        /// Such as tunnel-1/T800/3.
        id: String,
    },
    /// What this normal was learned from, and the band of every zone.
    Show {
        /// Such as tunnel-1/T800/3.
        id: String,
    },
}

/// Half-width of the band shown, in standard deviations.
const BAND: f64 = 1.96;

/// Lists or changes normals.
///
/// # Errors
/// There is no such normal, or the files cannot be used.
pub fn normals(settings: &Settings, what: Option<&NormalsCommand>, out: &mut dyn Write) -> Result<(), Failure> {
    let files = NormalFiles::new(&settings.data_dir);
    let now = PlantClock::Machine.now().to_string();
    match what {
        None => list(&files, out),
        Some(NormalsCommand::Approve { id }) => {
            files.approve(id, &person(), &now)?;
            Ok(writeln!(out, "{id} is in use")?)
        }
        Some(NormalsCommand::Retire { id }) => {
            let mut normal = find(&files, id)?;
            normal.retire(&person(), &now);
            files.write(&normal)?;
            Ok(writeln!(out, "{id} is retired")?)
        }
        Some(NormalsCommand::Show { id }) => describe(&find(&files, id)?, out),
    }
}

fn find(files: &NormalFiles, id: &str) -> Result<Normal, Failure> {
    files.find(id)?.ok_or_else(|| Failure::NoData(format!("there is no normal {id}; `ovenward normals` lists them")))
}

fn list(files: &NormalFiles, out: &mut dyn Write) -> Result<(), Failure> {
    let normals = files.all()?;
    if normals.is_empty() {
        return Err(Failure::NoData("there are no normals yet; `ovenward learn` makes them".into()));
    }
    writeln!(out, "{:<24} {:<10} {:>7} {:>5} {:>14}", "normal", "standing", "hours", "runs", "speed, m/min")?;
    for normal in normals {
        let record = normal.record();
        let speeds = format!("{:.2} to {:.2}", record.speeds.slowest_m_min, record.speeds.fastest_m_min);
        writeln!(
            out,
            "{:<24} {:<10} {:>7.1} {:>5} {:>14}",
            normal.key().to_string(),
            standing(&normal),
            record.data.hours,
            record.data.runs,
            speeds
        )?;
    }
    Ok(())
}

fn reason(reason: LeftOutReason) -> &'static str {
    match reason {
        LeftOutReason::NoSpeed => "no band speed",
        LeftOutReason::OtherZones => "another number of zones",
        LeftOutReason::NoHumidity => "a zone's humidity is missing",
        LeftOutReason::NoTemperature => "a zone's temperature is missing",
        LeftOutReason::SameTime => "twice the same time",
        LeftOutReason::FarOutside => "so far from all others that it can only be a fault",
        LeftOutReason::Unlikely => "least likely: taken for bad hours",
    }
}

fn standing(normal: &Normal) -> &'static str {
    match normal.record().standing {
        Standing::Proposed => "proposed",
        Standing::Approved { .. } => "approved",
        Standing::Retired { .. } => "retired",
    }
}

/// What a normal was learned from and what it expects, for a terminal.
pub(super) fn describe(normal: &Normal, out: &mut dyn Write) -> Result<(), Failure> {
    let record = normal.record();
    let data = &record.data;
    writeln!(out, "{} ({})", normal.key(), standing(normal))?;
    writeln!(
        out,
        "  learned from {} of {} windows: {:.1} h of baking in {} runs, {} to {}",
        data.windows_used,
        data.windows_given,
        data.hours,
        data.runs,
        Timestamp(data.from_us),
        Timestamp(data.to_us)
    )?;
    for left_out in &data.left_out {
        writeln!(out, "  left out: {} windows, {}", left_out.windows, reason(left_out.reason))?;
    }
    let shares: Vec<String> =
        record.mixture.components.iter().map(|component| format!("{:.0} %", component.weight * 100.0)).collect();
    writeln!(out, "  ways of running: {} ({} of the windows)", shares.len(), shares.join(", "))?;
    match &record.rises {
        Some(rises) => writeln!(out, "  rises: {} found, {} follow one practice", rises.given, rises.used)?,
        None => writeln!(out, "  rises: too few to learn from")?,
    }
    let speeds = &record.speeds;
    let middle = MetrePerMinute((speeds.slowest_m_min * speeds.fastest_m_min).sqrt());
    writeln!(
        out,
        "  speeds {:.2} to {:.2} m/min; at {:.2} m/min it expects",
        speeds.slowest_m_min, speeds.fastest_m_min, middle.0
    )?;
    writeln!(out, "  {:>6}  {:>9}  {:>15}  {:>7}", "zone", "% vol", "95 of 100", "degC")?;
    for (index, zone) in normal.expect(middle).zones.iter().enumerate() {
        let at = |sds: f64| alert::message::moisture_pct(zone.ln_humidity.mean + sds * zone.ln_humidity.sd);
        let band = format!("{:.1} to {:.1}", at(-BAND), at(BAND));
        let temperature = zone.temperature.map_or_else(|| "-".into(), |band| format!("{:.0}", band.mean));
        writeln!(out, "  {:>6}  {:>9.1}  {band:>15}  {temperature:>7}", index + 1, at(0.0))?;
    }
    Ok(())
}
