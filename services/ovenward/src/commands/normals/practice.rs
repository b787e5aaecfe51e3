//! What was learned of rises, and from which.

use std::io::{self, Write};

use alert::message::moisture_pct;
use normal_profile::{BAND, ChangeSource, FEWEST_RISES, JudgedRise, Normal, RiseVerdict};
use physics::units::MetrePerMinute;
use reading::{ShiftCalendar, Timestamp};

use super::{middle_speed, signed};

/// The rise for which the practice is shown.
const SHOWN_RISE: f64 = 1.1;
/// So many of the rises that were unlike the others are listed, the last first.
const LISTED: usize = 5;

/// Says from which rises was learned, which were left out and why, and what practice makes of a rise.
pub(super) fn write(normal: &Normal, calendar: &ShiftCalendar, out: &mut dyn Write) -> io::Result<()> {
    let history = &normal.record().rise_history;
    let with = |verdict| history.iter().filter(move |rise| rise.verdict == verdict);
    let learned: Vec<f64> = with(RiseVerdict::Learned).map(pct).collect();
    let range = || {
        let smallest = learned.iter().copied().fold(f64::INFINITY, f64::min);
        let largest = learned.iter().copied().fold(0.0, f64::max);
        format!(" of {smallest:.0} to {largest:.0} %")
    };
    writeln!(
        out,
        "  rises: {} in history; {}",
        history.len(),
        if normal.record().rises.is_some() {
            format!("learned from {}{}", learned.len(), range())
        } else {
            format!("{} can be learned from, and {FEWEST_RISES} are needed", learned.len())
        }
    )?;
    for (verdict, why) in [
        (RiseVerdict::TooSmall, "too small to tell from noise"),
        (RiseVerdict::ZoneUnknown, "a zone's humidity is missing"),
        (RiseVerdict::Unlike, "unlike the others, and so no practice"),
    ] {
        match with(verdict).count() {
            0 => {}
            count => writeln!(out, "    left out: {count}, {why}")?,
        }
    }
    for rise in with(RiseVerdict::Unlike).rev().take(LISTED) {
        let time = calendar.date_and_time(Timestamp(rise.began_us));
        writeln!(out, "      {time}  band {:+.1} %, zones {}", pct(rise), changes(rise))?;
    }
    write_change(normal, out)?;
    write_response(normal, out)
}

/// What a rise by a tenth makes of every zone.
fn write_change(normal: &Normal, out: &mut dyn Write) -> io::Result<()> {
    let before = middle_speed(normal);
    let after = MetrePerMinute(before.0 * SHOWN_RISE);
    let change = normal.expect_change(before, after);
    let source = match change.source {
        ChangeSource::Rises { .. } => "as it was met in history",
        ChangeSource::Mixture => "from the profiles at the learned speeds",
        ChangeSource::HumidityHolds => "by the rule that humidity holds, as too few speeds were learned",
    };
    let zone = |(index, zone): (usize, &normal_profile::ZoneExpectation)| {
        let at = |sds: f64| {
            let sd = change.covariance.get(index, index).sqrt();
            moisture_pct(zone.ln_humidity.mean + change.mean[index] + sds * sd) - moisture_pct(zone.ln_humidity.mean)
        };
        format!("zone {} {} ± {:.1}", index + 1, signed(at(0.0)), (at(BAND) - at(-BAND)) / 2.0)
    };
    let zones: Vec<String> = normal.expect(before).zones.iter().enumerate().map(zone).collect();
    writeln!(out, "    a rise of {:.0} %, {source}, in % vol:", (SHOWN_RISE - 1.0) * 100.0)?;
    writeln!(out, "      {}", zones.join(", "))
}

/// How long each zone takes to answer a change of speed, and by how much it first does.
fn write_response(normal: &Normal, out: &mut dyn Write) -> io::Result<()> {
    let responses = &normal.record().responses;
    if responses.iter().all(Option::is_none) {
        return writeln!(out, "  first answer to a change of speed: the speed hardly ever changed");
    }
    writeln!(out, "  first answer of the humidity to 10 % more speed, what the crew does about it included:")?;
    for (index, response) in responses.iter().enumerate() {
        let Some(response) = response else { continue };
        let times = |gain: f64| 100.0 * (SHOWN_RISE.powf(gain) - 1.0);
        let (gain, error) = (times(response.gain), times(BAND * response.gain_error));
        let zone = index + 1;
        if response.is_clear {
            let (begins, lag) = (response.delay_s / 60.0, response.lag_s / 60.0);
            let gain = signed(gain);
            writeln!(out, "    zone {zone} {gain} ± {error:.1} %, from {begins:.1} min on, {lag:.1} min on average")?;
        } else {
            writeln!(out, "    zone {zone} not clear of its own wander: {} ± {error:.1} %", signed(gain))?;
        }
    }
    Ok(())
}

fn pct(rise: &JudgedRise) -> f64 {
    100.0 * rise.ln_speed_change.exp_m1()
}

/// The change of each zone's humidity ratio, such as "+1 +8 +6 +5 %".
fn changes(rise: &JudgedRise) -> String {
    let change = |change: &Option<f64>| change.map_or_else(|| "-".into(), |ln| format!("{:+.0}", 100.0 * ln.exp_m1()));
    let changes: Vec<String> = rise.ln_humidity_change.iter().map(change).collect();
    format!("{} %", changes.join(" "))
}
