//! Event by event: what was found, how soon, rightly named or not, and what was raised for nothing.

use reading::Timestamp;

use crate::event::{Alarm, Event, Truth};
use crate::interval::poisson;
use crate::stream::{BACKGROUND, Outcome};

/// A day, in microseconds.
const DAY_US: f64 = 86_400e6;
/// Days of a line-month.
const LINE_MONTH_DAYS: f64 = 30.0;

/// What became of the events of one group: a family, a size, an oven.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Group {
    /// How many events.
    pub events: usize,
    /// How many of them were found: of rises as [`Event::is_found_by`] says, of sensor faults and disturbances those
    /// that an alarm accepted for them was raised about.
    pub found: usize,
    /// How many were found and rightly named.
    pub named: usize,
    /// Delays of those found, in bake times.
    pub delays: Vec<f64>,
    /// False alarms during these events and until the next one.
    pub false_alarms: usize,
}

/// The score of one method on some ovens.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Score {
    /// One judged event each, in order.
    pub judged: Vec<Judged>,
    /// False alarms on the clean days.
    pub clean_false_alarms: Vec<Alarm>,
    /// Every alarm on the clean days, justified or not.
    pub clean_alarms: usize,
    /// How many clean line-days there were.
    pub clean_days: f64,
    /// False alarms during the events.
    pub event_false_alarms: usize,
    /// How many line-days of events there were.
    pub event_days: f64,
}

/// False alarms of a method on some days.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FalseAlarms {
    /// How many.
    pub count: usize,
    /// On how many line-days.
    pub days: f64,
    /// How many in a line-month of 30 days.
    pub per_line_month: f64,
    /// Lower end of its exact 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// An event and what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The event.
    pub event: Event,
    /// The first alarm that found it.
    pub alarm: Option<Alarm>,
    /// Whether an alarm accepted for it was raised about it.
    pub is_told: bool,
    /// False alarms from its beginning until the next one's.
    pub false_alarms: Vec<Alarm>,
}

impl Judged {
    /// From the beginning of the event to its alarm, in bake times.
    #[must_use]
    pub fn delay(&self) -> Option<f64> {
        let alarm = self.alarm.as_ref()?;
        Some((alarm.raised - self.event.began).as_seconds() / 60.0 / self.event.bake_time_min)
    }

    fn is_found(&self) -> bool {
        match self.event.truth {
            Truth::UnmatchedRise => self.alarm.is_some(),
            Truth::SensorFault | Truth::Disturbance | Truth::NothingWrong => self.is_told,
        }
    }

    fn is_rightly_named(&self) -> bool {
        self.alarm.as_ref().is_some_and(|alarm| Some(&alarm.finding) == self.event.finding.as_ref())
    }
}

impl Score {
    /// The score of the alarms that `raised` gives for each oven.
    pub fn of<'a>(outcomes: &'a [Outcome], raised: impl Fn(&'a Outcome) -> &'a [Alarm]) -> Self {
        let mut score = Self::default();
        outcomes.iter().for_each(|outcome| score.add(outcome, raised(outcome)));
        score
    }

    /// False alarms on the clean days.
    #[must_use]
    pub fn on_clean_days(&self) -> FalseAlarms {
        FalseAlarms::of(self.clean_false_alarms.len(), self.clean_days)
    }

    /// False alarms on the days of events.
    #[must_use]
    pub fn during_events(&self) -> FalseAlarms {
        FalseAlarms::of(self.event_false_alarms, self.event_days)
    }

    /// False alarms on the clean days that other methods are granted: as many as this one raised, and at
    /// least one a line-month.
    #[must_use]
    pub fn budget(&self) -> usize {
        self.clean_false_alarms.len().max((self.clean_days / LINE_MONTH_DAYS).round() as usize)
    }

    /// Alarms a shift of eight hours on the clean days, justified or not.
    #[must_use]
    pub fn alerts_per_shift(&self) -> f64 {
        self.clean_alarms as f64 / (self.clean_days * 3.0)
    }

    /// Adds what a method raised on one oven.
    fn add(&mut self, outcome: &Outcome, alarms: &[Alarm]) {
        let counts = |alarm: &&Alarm| (outcome.learned_until..outcome.ends).contains(&alarm.raised);
        let alarms: Vec<&Alarm> = alarms.iter().filter(|alarm| alarm.oven == outcome.oven).filter(counts).collect();
        let explained = |alarm: &Alarm| {
            outcome.events.iter().any(|event| event.explains(alarm)) || is_true_limit(alarm, &outcome.events)
        };
        let is_clean = |alarm: &Alarm| alarm.raised < outcome.clean_until;
        let false_alarms: Vec<&Alarm> = alarms.iter().copied().filter(|alarm| !explained(alarm)).collect();
        self.clean_days += days(outcome.learned_until, outcome.clean_until);
        self.event_days += days(outcome.clean_until, outcome.ends);
        self.clean_alarms += alarms.iter().filter(|alarm| is_clean(alarm)).count();
        self.clean_false_alarms.extend(false_alarms.iter().copied().filter(|alarm| is_clean(alarm)).cloned());
        self.event_false_alarms += false_alarms.iter().filter(|alarm| !is_clean(alarm)).count();
        let scripted: Vec<&Event> = outcome.events.iter().filter(|event| event.family != BACKGROUND).collect();
        for (index, event) in scripted.iter().enumerate() {
            let next = scripted.get(index + 1).map_or(outcome.ends, |next| next.began);
            self.judged.push(Judged {
                event: (*event).clone(),
                is_told: alarms.iter().any(|alarm| event.explains(alarm)),
                alarm: alarms.iter().find(|alarm| event.is_found_by(alarm)).map(|alarm| (*alarm).clone()),
                false_alarms: false_alarms
                    .iter()
                    .filter(|alarm| (event.began..next).contains(&alarm.raised))
                    .map(|alarm| (*alarm).clone())
                    .collect(),
            });
        }
    }

    /// The events that `belongs` says.
    pub fn group(&self, belongs: impl Fn(&Event) -> bool) -> Group {
        let mut group = Group::default();
        for judged in self.judged.iter().filter(|judged| belongs(&judged.event)) {
            group.events += 1;
            group.found += usize::from(judged.is_found());
            group.named += usize::from(judged.is_rightly_named());
            group.delays.extend(judged.delay());
            group.false_alarms += judged.false_alarms.len();
        }
        group.delays.sort_by(f64::total_cmp);
        group
    }

    /// The unmatched rises among the events that `belongs` says.
    pub fn rises(&self, belongs: impl Fn(&Event) -> bool) -> Group {
        self.group(|event| event.truth == Truth::UnmatchedRise && belongs(event))
    }
}

impl FalseAlarms {
    fn of(count: usize, days: f64) -> Self {
        let months = days / LINE_MONTH_DAYS;
        let (low, high) = poisson(count, months);
        Self { count, days, per_line_month: count as f64 / months, low, high }
    }
}

impl Group {
    /// The delay that this share of those found do not exceed.
    #[must_use]
    pub fn delay(&self, share: f64) -> Option<f64> {
        let last = self.delays.len().checked_sub(1)?;
        self.delays.get((share * last as f64).round() as usize).copied()
    }
}

/// Whether an alarm says that zone 3 is above its limit while every probe works: then it is.
fn is_true_limit(alarm: &Alarm, events: &[Event]) -> bool {
    let faulty = |event: &Event| {
        event.truth == Truth::SensorFault && (event.began..=event.explains_until).contains(&alarm.raised)
    };
    alarm.kind == "zone3-limit" && !events.iter().any(faulty)
}

fn days(from: Timestamp, to: Timestamp) -> f64 {
    (to - from).0 as f64 / DAY_US
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn minute(minute: i64) -> Timestamp {
        Timestamp(minute * 60_000_000)
    }

    /// An event from minute 100, due by 130, explaining until 190; bake time 20 min.
    fn event(truth: Truth) -> Event {
        Event {
            oven: "oven".into(),
            family: "rise".into(),
            truth,
            size_pct: Some(9.0),
            began: minute(100),
            due: minute(130),
            explains_until: minute(190),
            bake_time_min: 20.0,
            finding: (truth == Truth::UnmatchedRise).then(|| "carryover".into()),
            signal_is_faulty: truth == Truth::SensorFault,
        }
    }

    fn score(truth: Truth, alarms: &[(i64, &str, &str)]) -> Score {
        let outcome = Outcome {
            oven: "oven".into(),
            events: vec![event(truth)],
            alarms: alarms
                .iter()
                .map(|&(at, kind, finding)| Alarm {
                    method: "method".into(),
                    oven: "oven".into(),
                    raised: minute(at),
                    kind: kind.into(),
                    finding: finding.into(),
                })
                .collect(),
            learned_until: minute(0),
            clean_until: minute(50),
            ends: minute(1000),
            normals: vec![],
        };
        Score::of(std::slice::from_ref(&outcome), |outcome| &outcome.alarms)
    }

    fn false_alarms(truth: Truth, kind: &str) -> usize {
        score(truth, &[(110, kind, "")]).during_events().count
    }

    #[test]
    fn the_first_alarm_in_time_finds_a_rise_and_a_later_one_changes_nothing() {
        let rise = "unmatched-speed-rise";
        let score = score(Truth::UnmatchedRise, &[(112, rise, "carryover"), (125, rise, "steam-short")]);
        let group = score.rises(|_| true);
        assert_eq!((group.events, group.found, group.named, group.false_alarms), (1, 1, 1, 0));
        assert_eq!(group.delays, [0.6], "12 min of 20");
    }

    #[test]
    fn an_alarm_that_comes_too_late_finds_nothing_and_yet_is_no_false_one() {
        let score = score(Truth::UnmatchedRise, &[(131, "unmatched-speed-rise", "carryover")]);
        assert_eq!((score.rises(|_| true).found, score.during_events().count), (0, 0));
    }

    #[test]
    fn alarms_outside_every_event_are_false_on_their_own_days() {
        let score =
            score(Truth::UnmatchedRise, &[(10, "any", ""), (99, "any", ""), (191, "any", ""), (2000, "any", "")]);
        assert_eq!((score.on_clean_days().count, score.during_events().count), (1, 2), "one is after the end");
        assert_eq!(score.rises(|_| true).found, 0);
    }

    #[test]
    fn each_kind_of_event_accepts_its_own_alarms() {
        let (rise, fault, departs) = ("unmatched-speed-rise", "sensor-fault", "departs-from-normal");
        let cases = [
            (Truth::NothingWrong, [1, 1, 1, 1]),
            (Truth::UnmatchedRise, [0, 1, 0, 0]),
            (Truth::SensorFault, [1, 0, 1, 0]),
            (Truth::Disturbance, [1, 1, 0, 0]),
        ];
        for (truth, wanted) in cases {
            assert_eq!([rise, fault, departs, "any"].map(|kind| false_alarms(truth, kind)), wanted, "{truth:?}");
        }
    }

    #[test]
    fn a_fault_is_told_by_an_alarm_of_its_kind_while_it_lasts() {
        let told = |truth, at, kind| score(truth, &[(at, kind, "")]).group(|_| true).found;
        assert_eq!(told(Truth::SensorFault, 110, "sensor-fault"), 1);
        assert_eq!(told(Truth::SensorFault, 99, "sensor-fault"), 0, "before it");
        assert_eq!(told(Truth::SensorFault, 110, "departs-from-normal"), 0);
        assert_eq!(told(Truth::Disturbance, 110, "departs-from-normal"), 1);
        assert_eq!(told(Truth::NothingWrong, 110, "departs-from-normal"), 0);
    }

    #[test]
    fn a_limit_is_believed_while_every_probe_works() {
        let counts = [Truth::NothingWrong, Truth::SensorFault].map(|truth| false_alarms(truth, "zone3-limit"));
        assert_eq!(counts, [0, 1]);
    }
}
