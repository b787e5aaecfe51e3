//! The one sentence that a shift lead reads.

use std::fmt::Write;

use normal_profile::Normal;
use physics::air;
use physics::units::HumidityRatio;
use reading::{ShiftCalendar, Timestamp, Trouble, TroubleKind, Window};

use crate::alert::ZoneFigures;
use crate::attribution::Attribution;
use crate::evidence::{Evidence, ZoneEvidence};
use crate::finding::Finding;
use crate::rise::Rise;

/// Moisture by volume, %, of a natural logarithm of kg/kg.
#[must_use]
pub fn moisture_pct(ln_humidity: f64) -> f64 {
    // A logarithm is of a positive number, which is in range.
    air::moisture_from_humidity_ratio(HumidityRatio(ln_humidity.exp())).map_or(f64::NAN, |moisture| moisture.0 * 100.0)
}

/// The zone that says most about the finding.
#[must_use]
pub(crate) fn telling_zone(finding: Finding, evidence: &Evidence) -> Option<&ZoneEvidence> {
    match finding {
        Finding::SteamShort => evidence.reached().find(|zone| zone.zone == 1),
        Finding::OverVented => evidence.reached().min_by(|a, b| a.z().total_cmp(&b.z())),
        Finding::NoResponse => evidence.reached().last(),
        _ => evidence.reached().filter(|zone| zone.zone > 1).max_by(|a, b| a.z().total_cmp(&b.z())),
    }
}

/// What a rise has done, in one sentence.
#[must_use]
pub(crate) fn of_rise(
    finding: Finding,
    rise: &Rise,
    evidence: &Evidence,
    normal: Option<&Normal>,
    shifts: &ShiftCalendar,
) -> String {
    let mut text =
        format!("Band up {:.1} % at {}", (rise.ln_change().exp() - 1.0) * 100.0, shifts.wall_clock(rise.began));
    if let Some(unmoved) = evidence.unmoved.filter(|_| finding == Finding::NoResponse) {
        // The write goes to a String, which takes everything.
        let _ = write!(
            text,
            ", dampers and steam as before, and yet the late zones changed by {:+.1} % where the load asks for {:+.1} %: \
             the speed signal, the feed or a humidity sensor is wrong.",
            (unmoved.observed.exp() - 1.0) * 100.0,
            (unmoved.demanded.exp() - 1.0) * 100.0
        );
        return text;
    }
    let Some(zone) = telling_zone(finding, evidence) else { return text };
    let against = if normal.is_some() { AT_THIS_SPEED } else { "what it held before" };
    text.push_str(&holds(zone.zone, moisture_pct(zone.observed), moisture_pct(zone.expected), against));
    text.push_str(": ");
    text.push_str(match finding {
        Finding::SteamShort => "the steam did not keep up with the load.",
        Finding::OverVented => "the exhaust takes out more than the load brings in.",
        _ if zone.zone > 2 => "moisture is being carried past zone 2.",
        _ => "more moisture builds up than the exhaust takes out.",
    });
    text
}

/// What a normal is, in a sentence.
const AT_THIS_SPEED: &str = "normal for this speed";

/// What a zone holds beside what it should, % vol: the second half of a sentence.
fn holds(zone: usize, observed: f64, expected: f64, against: &str) -> String {
    let side = if observed >= expected { "above" } else { "below" };
    let difference = (observed - expected).abs();
    format!("; zone {zone} holds {observed:.1} % vol, {difference:.1} {side} {against}")
}

/// That zone 3 is over its limit.
#[must_use]
pub(crate) fn of_limit(moisture: f64, limit: f64, product: &str, since: Timestamp, shifts: &ShiftCalendar) -> String {
    let since = shifts.wall_clock(since);
    format!("Zone 3 holds {moisture:.1} % vol since {since}; the limit set for {product} is {limit:.1} % vol.")
}

/// That the oven no longer runs as it was learned.
#[must_use]
pub(crate) fn of_departure(
    attribution: &Attribution,
    zones: &[ZoneFigures],
    since: Timestamp,
    shifts: &ShiftCalendar,
) -> String {
    let Attribution { finding, zone, above, moved } = *attribution;
    let since = shifts.wall_clock(since);
    if finding == Finding::Temperature {
        let side = if above { "hotter" } else { "colder" };
        return format!("Since {since} zone {zone} is {side} than normal for this product and speed, without a rise.");
    }
    let mut text = format!("Since {since} the oven departs from its normal without a rise");
    if let Some(figures) = zones.iter().find(|figures| figures.zone == zone) {
        text.push_str(&holds(zone, figures.observed, figures.expected, AT_THIS_SPEED));
    }
    let cause = match (finding, moved) {
        (Finding::Damper, Some((from, to))) => format!(": its damper stands at {to:.0} %, {from:.0} % before."),
        (Finding::Steam, Some((from, to))) => format!(": the steam is at {to:.0}, {from:.0} before."),
        _ => ", and no damper, steam or temperature signal says why.".into(),
    };
    text.push_str(&cause);
    text
}

/// That a steamed product's peak is not where the trade expects it.
#[must_use]
pub(crate) fn of_shape(zone: usize, wettest: f64, first: f64, since: Timestamp, shifts: &ShiftCalendar) -> String {
    let since = shifts.wall_clock(since);
    format!(
        "Since {since} zone {zone} is wetter than zone 1 ({wettest:.1} against {first:.1} % vol). \
         A steamed product has its peak in zone 1; nothing has been learned of this one yet."
    )
}

/// That steam flows where no product is.
#[must_use]
pub(crate) fn of_steam_without_product(
    steam: f64,
    window: &Window,
    since: Timestamp,
    shifts: &ShiftCalendar,
) -> String {
    let unit = if window.steam_flow.is_some() { "kg/h" } else { "% open" };
    format!("Steam is on ({steam:.0} {unit}) since {} with no product under it.", shifts.wall_clock(since))
}

/// That product is under steam for too long.
#[must_use]
pub(crate) fn of_long_steam(seconds: f64, limit: f64, since: Timestamp, shifts: &ShiftCalendar) -> String {
    format!(
        "Product is under steam for {seconds:.0} s since {}; the limit set is {limit:.0} s. The oven has to bake that water off again.",
        shifts.wall_clock(since)
    )
}

/// That signals are not to be believed.
#[must_use]
pub(crate) fn of_trouble(
    kind: TroubleKind,
    zone: Option<usize>,
    troubles: &[&Trouble],
    since: Timestamp,
    shifts: &ShiftCalendar,
) -> String {
    let names: Vec<String> = troubles.iter().map(|trouble| trouble.quantity.name().replace('_', " ")).collect();
    let place = zone.map_or_else(|| "the line".to_owned(), |zone| format!("zone {zone}"));
    let since = shifts.wall_clock(since);
    let what = match kind {
        TroubleKind::Silent => "nothing believable heard",
        TroubleKind::Stuck => "the same value again and again",
        TroubleKind::OutOfRange => "values that no such sensor can show",
        TroubleKind::Impossible => "values that no air can have at that temperature",
    };
    format!("{} of {place}: {what} since {since}. Alerts that need it are blind there.", capitalised(&names.join(", ")))
}

fn capitalised(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}
