//! The evidence of an alert in figures: what is printed, and the form of its JSON.

use alert::evidence::ZoneEvidence;
use alert::message::moisture_pct;
use alert::{Alert, DetectionSettings, Finding, Judgement};
use normal_profile::Normal;
use reading::{RunningState, Timestamp, Window, ZoneWindow};
use serde::Serialize;

use super::{Found, departures};

/// Everything that led to an alert.
#[derive(Debug, Serialize)]
pub(super) struct Explanation {
    pub(super) alert: Alert,
    /// Where the change expected by practice comes from.
    pub(super) practice_from: Option<String>,
    /// A chance below this raises an alert.
    pub(super) threshold: f64,
    /// When material fed at the new rate had passed through each zone; none if it had not.
    pub(super) reached: Vec<Option<Timestamp>>,
    /// The rise as it was judged, window by window.
    pub(super) test: Vec<Judged>,
    /// What was measured around it.
    pub(super) windows: Vec<Measured>,
}

/// A rise at the end of one window.
#[derive(Debug, Serialize)]
pub(super) struct Judged {
    pub(super) at: Timestamp,
    pub(super) band_speed_m_min: f64,
    pub(super) before_m_min: f64,
    pub(super) zones: Vec<JudgedZone>,
    /// Share of the rise's load that stays in the zones reached; none before one speaks that follows it.
    pub(super) unanswered_share: Option<f64>,
    /// The same in standard deviations of a rise that was met.
    pub(super) unanswered_z: Option<f64>,
    pub(super) zones_reached: usize,
    pub(super) finding: Option<Finding>,
}

/// One zone in a judgement, % vol.
#[derive(Debug, Serialize)]
pub(super) struct JudgedZone {
    pub(super) zone: usize,
    pub(super) before_pct: f64,
    /// What practice makes of the rise, with the band that holds 95 of 100 rises.
    pub(super) by_practice_pct: f64,
    pub(super) low_pct: f64,
    pub(super) high_pct: f64,
    /// What the load makes of it if nobody touches a damper or the steam: humidity in step with the load.
    pub(super) untouched_pct: f64,
    /// What the normal holds at this speed, whatever was before.
    pub(super) usual_pct: Option<f64>,
    pub(super) observed_pct: f64,
    pub(super) z: f64,
    /// By how much its humidity ratio departs from practice, %.
    pub(super) excess_pct: f64,
    pub(super) reached: bool,
}

/// One window as it was measured.
#[derive(Debug, Serialize)]
pub(super) struct Measured {
    pub(super) starts: Timestamp,
    pub(super) state: RunningState,
    pub(super) band_speed_m_min: Option<f64>,
    pub(super) steam_flow_kg_h: Option<f64>,
    pub(super) zones: Vec<MeasuredZone>,
    /// Distance to the normal on the scale of a standard normal.
    pub(super) departure: Option<f64>,
}

/// One zone of a window.
#[derive(Debug, Serialize)]
pub(super) struct MeasuredZone {
    pub(super) moisture_pct: Option<f64>,
    pub(super) air_temperature_c: Option<f64>,
    pub(super) exhaust_damper_pct: Option<f64>,
}

impl Explanation {
    pub(super) fn of(found: &Found, normal: Option<&Normal>, windows: &[Window], settings: &DetectionSettings) -> Self {
        let Found { alert, judgements, .. } = found;
        let deciding = judgements.iter().find(|judgement| judgement.at == alert.raised);
        let source = |judgement: &Judgement| match normal {
            Some(normal) => normal.expect_change(judgement.rise.before, judgement.rise.after).source.to_string(),
            None => "the rule that humidity holds, as there is no normal".to_owned(),
        };
        let zones = deciding.map_or(0, |deciding| deciding.evidence.zones.len());
        let reached_at = |zone: usize| {
            let speaks = |judgement: &&Judgement| judgement.evidence.zones.get(zone).is_some_and(|zone| zone.reached);
            judgements.iter().find(speaks).map(|judgement| judgement.at)
        };
        let departures = departures(windows, normal);
        let measured = |window: &Window| Measured::of(window, departures.get(&window.starts.0).copied());
        Self {
            alert: alert.clone(),
            practice_from: deciding.map(source),
            threshold: settings.false_alarm_probability(),
            reached: (0..zones).map(reached_at).collect(),
            test: judgements.iter().map(|judgement| Judged::of(judgement, normal)).collect(),
            windows: windows.iter().map(measured).collect(),
        }
    }

    /// The judgement that raised the alert.
    pub(super) fn deciding(&self) -> Option<&Judged> {
        self.test.iter().find(|judged| judged.at == self.alert.raised)
    }
}

impl Judged {
    fn of(judgement: &Judgement, normal: Option<&Normal>) -> Self {
        let Judgement { at, rise, evidence, finding } = judgement;
        let usual = normal.map(|normal| normal.expect(rise.after).zones);
        let zone = |zone: &ZoneEvidence| {
            let usual = usual.as_ref().and_then(|zones| zones.get(zone.zone - 1));
            JudgedZone {
                zone: zone.zone,
                before_pct: moisture_pct(zone.before),
                by_practice_pct: moisture_pct(zone.expected),
                low_pct: moisture_pct(zone.band().low()),
                high_pct: moisture_pct(zone.band().high()),
                untouched_pct: moisture_pct(zone.before + rise.ln_change()),
                usual_pct: usual.map(|usual| moisture_pct(usual.ln_humidity.mean)),
                observed_pct: moisture_pct(zone.observed),
                z: zone.z(),
                excess_pct: 100.0 * zone.excess().exp_m1(),
                reached: zone.reached,
            }
        };
        Self {
            at: *at,
            band_speed_m_min: rise.after.0,
            before_m_min: rise.before.0,
            zones: evidence.zones.iter().map(zone).collect(),
            unanswered_share: evidence.unanswered.map(|it| it.share),
            unanswered_z: evidence.unanswered.map(|it| it.z),
            zones_reached: evidence.reached().count(),
            finding: *finding,
        }
    }
}

impl Measured {
    fn of(window: &Window, departure: Option<f64>) -> Self {
        let zone = |zone: &ZoneWindow| MeasuredZone {
            moisture_pct: zone.humidity.map(|ratio| moisture_pct(ratio.0.ln())),
            air_temperature_c: zone.air_temperature.map(|celsius| celsius.0),
            exhaust_damper_pct: zone.exhaust_damper,
        };
        Self {
            starts: window.starts,
            state: window.state,
            band_speed_m_min: window.band_speed.map(|speed| speed.0),
            steam_flow_kg_h: window.steam_flow,
            zones: window.zones.iter().map(zone).collect(),
            departure,
        }
    }
}
