//! `ovenward normals`: list, show, compare, approve, retire.

mod axis;
mod description;
mod difference;
mod practice;
mod profile;
mod shown;
mod ways;

use std::io::Write;
use std::sync::Arc;

use clap::{Subcommand, ValueEnum};
pub(crate) use difference::NormalDifference;
use normal_profile::{Normal, Slip, Standing};
use physics::units::MetrePerMinute;
use reading::{ShiftCalendar, Timestamp};
use store::Store;

use super::learn::person;
use crate::config::Settings;
use crate::failure::Failure;
use crate::fits;
use crate::normal_files::{NormalFiles, is_approved};
use crate::service::PlantClock;

pub(super) use description::describe;
pub(crate) use shown::Shown;

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
        /// Band speed at which the zones are drawn, m/min; the middle of the learned ones without it.
        #[arg(long, value_name = "V")]
        speed: Option<f64>,
    },
    /// What has changed from one normal to another.
    Diff {
        /// Such as tunnel-1/T800/2.
        before: String,
        /// Such as tunnel-1/T800/3.
        after: String,
        /// How it is printed.
        #[arg(long, value_enum, default_value_t = DiffFormat::Text)]
        format: DiffFormat,
    },
}

/// How a difference is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DiffFormat {
    /// For people.
    Text,
    /// One JSON object.
    Json,
}

/// Lists or changes normals.
///
/// # Errors
/// There is no such normal, or the files cannot be used.
pub fn normals(settings: &Settings, what: Option<&NormalsCommand>, out: &mut dyn Write) -> Result<(), Failure> {
    let files = NormalFiles::new(&settings.data_dir);
    let now = PlantClock::Machine.now().to_string();
    match what {
        None => list(settings, &files, out),
        Some(NormalsCommand::Approve { id }) => {
            files.approve(id, &person(), &now)?;
            Ok(writeln!(out, "{id} is in use")?)
        }
        Some(NormalsCommand::Retire { id }) => {
            find(&files, id)?;
            files.retire(id, &person(), &now)?;
            Ok(writeln!(out, "{id} is retired")?)
        }
        Some(NormalsCommand::Show { id, speed }) => {
            describe(&find(&files, id)?, band_speed(*speed)?, &settings.plant.shifts, out)
        }
        Some(NormalsCommand::Diff { before, after, format }) => {
            let difference = NormalDifference::between(&find(&files, before)?, &find(&files, after)?)?;
            match format {
                DiffFormat::Text => Ok(difference.write_text(out)?),
                DiffFormat::Json => Ok(writeln!(out, "{}", serde_json::to_string_pretty(&difference)?)?),
            }
        }
    }
}

fn find(files: &NormalFiles, id: &str) -> Result<Normal, Failure> {
    files.find(id)?.ok_or_else(|| Failure::NoData(format!("there is no normal {id}; `ovenward normals` lists them")))
}

fn band_speed(given: Option<f64>) -> Result<Option<MetrePerMinute>, Failure> {
    match given {
        Some(speed) if !(speed > 0.0 && speed.is_finite()) => {
            Err(Failure::usage(format!("--speed {speed} is no band speed; write m/min above 0, such as 1.25")))
        }
        given => Ok(given.map(MetrePerMinute)),
    }
}

fn list(settings: &Settings, files: &NormalFiles, out: &mut dyn Write) -> Result<(), Failure> {
    let normals = files.all()?;
    if normals.is_empty() {
        return Err(Failure::NoData("there are no normals yet; `ovenward learn` makes them".into()));
    }
    let plant = Arc::new(settings.plant.clone());
    let store = Store::open(&settings.data_dir, &plant)?;
    let slips = fits::slips(&store, &plant, &files.approved(&plant)?, settings)?;
    let calendar = &plant.shifts;
    writeln!(
        out,
        "{:<24} {:<10} {:>7} {:>5} {:>14}  still fits",
        "normal", "standing", "hours", "runs", "speed, m/min"
    )?;
    for normal in normals {
        let record = normal.record();
        let speeds = format!("{:.2} to {:.2}", record.speeds.slowest_m_min, record.speeds.fastest_m_min);
        writeln!(
            out,
            "{:<24} {:<10} {:>7.1} {:>5} {:>14}  {}",
            normal.key().to_string(),
            standing(&normal),
            record.data.hours,
            record.data.runs,
            speeds,
            still_fits(&normal, &slips, calendar)
        )?;
    }
    for (normal, slip) in &slips {
        writeln!(out, "\n{}", fits::in_words(normal, slip, calendar).join("\n  "))?;
    }
    Ok(())
}

/// Only what is in use is followed.
fn still_fits(normal: &Normal, slips: &[(Arc<Normal>, Slip)], calendar: &ShiftCalendar) -> String {
    let slip = slips.iter().find(|(slipping, _)| slipping.key() == normal.key());
    match slip {
        Some((_, slip)) => format!("slipping since {}", calendar.date_and_time(Timestamp(slip.since_us))),
        None if is_approved(normal) => "yes".into(),
        None => "-".into(),
    }
}

pub(crate) fn standing(normal: &Normal) -> &'static str {
    match normal.record().standing {
        Standing::Proposed => "proposed",
        Standing::Approved { .. } => "approved",
        Standing::Retired { .. } => "retired",
    }
}

/// Three speeds from the slowest to the fastest, the one between as many per cent from both.
pub(crate) fn speeds_between(slowest: MetrePerMinute, fastest: MetrePerMinute) -> [MetrePerMinute; 3] {
    [slowest, MetrePerMinute((slowest.0 * fastest.0).sqrt()), fastest]
}

/// The slowest and the fastest learned speed.
pub(crate) fn learned_speeds(normal: &Normal) -> (MetrePerMinute, MetrePerMinute) {
    let range = &normal.record().speeds;
    (MetrePerMinute(range.slowest_m_min), MetrePerMinute(range.fastest_m_min))
}

fn middle_speed(normal: &Normal) -> MetrePerMinute {
    let (slowest, fastest) = learned_speeds(normal);
    speeds_between(slowest, fastest)[1]
}

/// A change to a tenth with its sign; what rounds to nothing has none.
fn signed(change: f64) -> String {
    let rounded = (change * 10.0).round() / 10.0;
    if rounded == 0.0 { "0.0".into() } else { format!("{rounded:+.1}") }
}

#[cfg(test)]
mod tests;
