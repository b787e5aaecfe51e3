//! What a normal was learned from and what it expects, for a terminal of 100 columns.

use std::io::Write;

use normal_profile::{LeftOutReason, Normal};
use physics::units::MetrePerMinute;
use reading::{ShiftCalendar, Timestamp};

use super::{middle_speed, practice, profile, standing, ways};
use crate::failure::Failure;

/// Describes a normal; the band is drawn at `speed`, or in the middle of the learned speeds.
pub(in crate::commands) fn describe(
    normal: &Normal,
    speed: Option<MetrePerMinute>,
    calendar: &ShiftCalendar,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let record = normal.record();
    let data = &record.data;
    writeln!(out, "{} ({})", normal.key(), standing(normal))?;
    writeln!(
        out,
        "  learned from {:.1} h of baking in {} runs, {} to {}",
        data.hours,
        data.runs,
        calendar.date_and_time(Timestamp(data.from_us)),
        calendar.date_and_time(Timestamp(data.to_us))
    )?;
    writeln!(out, "  windows of baking: {} of {} used", data.windows_used, data.windows_given)?;
    for left_out in &data.left_out {
        writeln!(out, "    left out: {}, {}", left_out.windows, why(left_out.reason))?;
    }
    writeln!(out, "  speeds: {:.2} to {:.2} m/min", record.speeds.slowest_m_min, record.speeds.fastest_m_min)?;
    ways::write(normal, out)?;
    practice::write(normal, calendar, out)?;
    Ok(profile::write(normal, speed.unwrap_or_else(|| middle_speed(normal)), out)?)
}

fn why(reason: LeftOutReason) -> &'static str {
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
