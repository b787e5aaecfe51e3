//! What to try first, with figures.
//!
//! The order is common practice: the steam costs nothing to check, then the exhaust, then the speed.

use normal_profile::BAND;
use reading::{TroubleKind, Window};

use crate::alert::Advice;
use crate::attribution::Attribution;
use crate::evidence::{Evidence, ZoneEvidence};
use crate::finding::Finding;
use crate::message::telling_zone;
use crate::rise::Rise;

/// What goes with every advice.
pub const CAUTION: &str = "Advice only: keep within the oven maker's limits, the plant's rules and local codes. \
    Exhaust, burner and steam are set by the people licensed for them. \
    Nothing here says that a product is safe to eat.";

/// What to try for a finding about a rise.
#[must_use]
pub(crate) fn for_rise(finding: Finding, rise: &Rise, evidence: &Evidence, window: &Window) -> Vec<Advice> {
    let Some(zone) = telling_zone(finding, evidence) else { return Vec::new() };
    match finding {
        Finding::SteamShort => vec![
            check_steam("The peak of zone 1 fell: look at the steam valve, the supply pressure and the injectors."),
            slow_band(rise, zone),
        ],
        Finding::OverVented => vec![Advice::CloseExhaust {
            text:
                "Every zone is drier than at other rises like this: see whether a damper stands wider open than meant."
                    .into(),
        }],
        Finding::NoResponse => vec![check_sensor(
            "Before anything is set: time a mark on the band against the speed shown, see that dough comes in as fast \
             as the band says, then look at the humidity sensors of the late zones.",
        )],
        _ => {
            let mut advice = vec![check_steam("Steam first: is the valve where it was, and the steam time as set?")];
            advice.extend(open_exhaust(zone, window));
            advice.push(slow_band(rise, zone));
            advice
        }
    }
}

/// What to try when zone 3 is over its limit.
#[must_use]
pub(crate) fn for_limit(window: &Window) -> Vec<Advice> {
    let opening = window.zones.get(2).and_then(|zone| zone.exhaust_damper);
    let mut advice = vec![check_steam("Steam first: is the valve where it should be, and the steam time as set?")];
    if opening.is_none_or(|opening| opening < 99.0) {
        advice.push(Advice::OpenExhaust { text: "Open the exhaust of zone 3 further.".into(), zone: 3, to_pct: None });
    }
    advice.push(Advice::SlowBand { text: "If that is not enough, slow the band.".into(), to_m_min: None });
    advice
}

/// What to try when the oven departs from its normal.
#[must_use]
pub(crate) fn for_departure(attribution: &Attribution) -> Vec<Advice> {
    let zone = attribution.zone;
    match (attribution.finding, attribution.moved) {
        (Finding::Damper, Some((from, to))) => vec![Advice::CheckDamper {
            text: format!(
                "See whether the damper of zone {zone} is meant to stand at {to:.0} % ({from:.0} % before). \
                 If it is, learn the normal again."
            ),
            zone,
        }],
        (Finding::Temperature, _) => {
            let text = format!("Look at the setpoint of zone {zone}, its burner and its fan.");
            vec![Advice::CheckBurner { text, zone }]
        }
        (Finding::Steam, _) => {
            vec![check_steam("The steam has changed: look at the valve, the supply pressure and the injectors.")]
        }
        _ => {
            let exhaust = format!(
                "Look at the exhaust of zone {zone}: a damper that hangs or a fouled duct shows like this without moving its signal."
            );
            vec![
                check_steam("Look at the steam: a clogged injector shows like this."),
                Advice::CheckDamper { text: exhaust, zone },
                check_sensor("Then hold the zone's humidity sensor against a portable one."),
            ]
        }
    }
}

/// What to try about steam that does nothing.
#[must_use]
pub(crate) fn for_steam(finding: Finding) -> Vec<Advice> {
    vec![check_steam(match finding {
        Finding::SteamTooLong => "Shorten the steam: fewer injectors in use, or a shorter section.",
        _ => "Close the steam valve until product comes; see why it did not close by itself.",
    })]
}

/// What to try about a signal in trouble.
#[must_use]
pub(crate) fn for_trouble(kind: TroubleKind) -> Vec<Advice> {
    vec![check_sensor(match kind {
        TroubleKind::Silent => {
            "Look at the supply, the cable and the gateway; if values do come in, see the quarantine for why they are refused."
        }
        TroubleKind::Stuck => "Look at the sensor head and its filter: a clogged one no longer trembles.",
        TroubleKind::OutOfRange => "Look for a broken wire, or a unit or scale in the config that is not the sensor's.",
        TroubleKind::Impossible => "Hold the zone's thermometer and humidity sensor against portable ones.",
    })]
}

fn check_sensor(text: &str) -> Advice {
    Advice::CheckSensor { text: text.into() }
}

fn check_steam(text: &str) -> Advice {
    Advice::CheckSteamValve { text: text.into() }
}

/// Exhaust and humidity ratio act as a ratio: what is 20 % too wet wants about 20 % more exhaust. The
/// opening is taken for the flow, as a first try that leaves the rest to the person at the damper.
fn open_exhaust(zone: &ZoneEvidence, window: &Window) -> Option<Advice> {
    let number = zone.zone;
    let Some(opening) = window.zones.get(number - 1).and_then(|zone| zone.exhaust_damper) else {
        let text = format!("Open the exhaust of zone {number} further, a little at a time.");
        return Some(Advice::OpenExhaust { text, zone: number, to_pct: None });
    };
    let wanted = (opening * zone.excess().exp()).ceil().min(100.0);
    if opening >= 99.0 || wanted <= opening {
        return None;
    }
    let text = format!("Open the exhaust of zone {number} from {opening:.0} to about {wanted:.0} %.");
    Some(Advice::OpenExhaust { text, zone: number, to_pct: Some(wanted) })
}

/// The share of the rise that would have kept the zone inside its band, taken as linear.
fn slow_band(rise: &Rise, zone: &ZoneEvidence) -> Advice {
    let change = zone.observed - zone.before;
    let allowed = zone.expected - zone.before + BAND * zone.sd * change.signum();
    let share = if change == 0.0 { 0.0 } else { (allowed / change).clamp(0.0, 1.0) };
    let to = (rise.before.0 * (share * rise.ln_change()).exp() * 100.0).floor() / 100.0;
    let text = format!("If that is not enough, slow the band from {:.2} to about {to:.2} m/min.", rise.after.0);
    Advice::SlowBand { text, to_m_min: Some(to) }
}
