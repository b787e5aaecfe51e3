//! Who is told, and from when on.

use alert::{AlertState, Priority};
use proptest::prelude::*;
use reading::{Span, Timestamp};

use super::fixture::{alert, at, calendar, time_of_day};
use crate::{Decision, Event, Known, Quiet, Rule};

const HIGH: Priority = Priority::High;
const MEDIUM: Priority = Priority::Medium;

fn nights() -> Option<Quiet> {
    Some(Quiet::Hours { from: time_of_day(22), to: time_of_day(6) })
}

fn quiet_at_night() -> Rule {
    Rule { quiet: nights(), ..Rule::default() }
}

fn decide(rule: &Rule, priority: Priority, state: AlertState, known: Known, now: &str) -> Decision {
    rule.decide(&alert(priority, state), known == Known::default(), known, at(now), &calendar())
}

fn waits(event: Event, due: &str) -> Known {
    Known { told: None, waiting: Some((event, at(due))) }
}

fn tell(event: Event, due: &str) -> Decision {
    Decision::Tell { event, due: at(due) }
}

#[test]
fn an_alert_is_told_when_it_calls_is_answered_and_is_over_and_once_each() {
    let rule = Rule::default();
    let noon = "2026-11-02T12:00:00Z";
    let known = |told| Known { told, waiting: None };
    for (state, told, expected) in [
        (AlertState::Unacknowledged, None, tell(Event::Raised, noon)),
        (AlertState::Unacknowledged, Some(Event::Raised), Decision::Nothing),
        (AlertState::Acknowledged, Some(Event::Raised), tell(Event::Answered, noon)),
        (AlertState::Shelved, Some(Event::Answered), Decision::Nothing),
        (AlertState::Unacknowledged, Some(Event::Answered), tell(Event::Raised, noon)),
        (AlertState::ReturnedAcknowledged, Some(Event::Answered), tell(Event::Ended, noon)),
        (AlertState::Shelved, None, Decision::Nothing),
    ] {
        assert_eq!(decide(&rule, MEDIUM, state, known(told), noon), expected, "{state:?} after {told:?}");
    }
    let waiting = Known { told: Some(Event::Raised), waiting: Some((Event::Answered, at(noon))) };
    assert_eq!(decide(&rule, MEDIUM, AlertState::Acknowledged, waiting, noon), Decision::AsBefore, "a comment");
}

#[test]
fn of_what_stood_before_the_receiver_was_named_nothing_is_told() {
    for state in AlertState::ALL {
        let decided = Rule::default().decide(
            &alert(HIGH, state),
            false,
            Known::default(),
            at("2026-11-02T12:00:00Z"),
            &calendar(),
        );
        assert_eq!(decided, Decision::Nothing, "{state:?}");
    }
}

#[test]
fn lines_and_priorities_are_those_of_the_rule() {
    let noon = "2026-11-02T12:00:00Z";
    let told = |rule: &Rule, priority| {
        decide(rule, priority, AlertState::Unacknowledged, Known::default(), noon) != Decision::Nothing
    };
    let of_line = |line: &str| Rule { lines: vec![line.into()], ..Rule::default() };
    assert!(told(&of_line("tunnel-1"), MEDIUM) && !told(&of_line("tunnel-2"), HIGH));
    let high_alone = Rule { lowest_priority: HIGH, ..Rule::default() };
    assert!(told(&high_alone, HIGH) && !told(&high_alone, MEDIUM));
}

#[test]
fn what_is_held_over_a_quiet_time_is_told_at_its_end_unless_it_no_longer_matters() {
    let rule = quiet_at_night();
    let held = waits(Event::Raised, "2026-11-03T06:00:00Z");
    let at_night = |priority, state, known| decide(&rule, priority, state, known, "2026-11-02T23:30:00Z");
    let raised = AlertState::Unacknowledged;
    assert_eq!(at_night(MEDIUM, raised, Known::default()), tell(Event::Raised, "2026-11-03T06:00:00Z"));
    assert_eq!(at_night(HIGH, raised, Known::default()), tell(Event::Raised, "2026-11-02T23:30:00Z"));
    for state in [AlertState::Acknowledged, AlertState::Shelved, AlertState::ReturnedUnacknowledged] {
        assert_eq!(at_night(MEDIUM, state, held), Decision::Nothing, "{state:?}");
    }
    // What it heard of before the night it hears the end of after it.
    let heard = Known { told: Some(Event::Raised), waiting: None };
    let ended = AlertState::ReturnedAcknowledged;
    assert_eq!(at_night(MEDIUM, ended, heard), tell(Event::Ended, "2026-11-03T06:00:00Z"));
}

#[test]
fn an_escalation_is_told_after_its_time_and_not_once_somebody_has_answered() {
    let rule = Rule { after: Span::minutes(10), ..Rule::default() };
    let raised = decide(&rule, HIGH, AlertState::Unacknowledged, Known::default(), "2026-11-02T14:09:00Z");
    assert_eq!(raised, tell(Event::Raised, "2026-11-02T14:19:00Z"));
    let held = waits(Event::Raised, "2026-11-02T14:19:00Z");
    for state in [AlertState::Acknowledged, AlertState::OutOfService, AlertState::ReturnedUnacknowledged] {
        assert_eq!(decide(&rule, HIGH, state, held, "2026-11-02T14:18:59Z"), Decision::Nothing, "{state:?}");
    }
    // Once told it hears the rest without delay.
    let told = Known { told: Some(Event::Raised), waiting: None };
    let answered = decide(&rule, HIGH, AlertState::Acknowledged, told, "2026-11-02T14:25:00Z");
    assert_eq!(answered, tell(Event::Answered, "2026-11-02T14:25:00Z"));
    // What began and was over between two looks lasted for less than its time.
    let over = decide(&rule, HIGH, AlertState::ReturnedUnacknowledged, Known::default(), "2026-11-02T14:09:00Z");
    assert_eq!(over, Decision::Nothing);
}

#[test]
fn a_shift_hears_of_what_nobody_has_answered_when_it_begins() {
    let rule = Rule { shifts: vec!["early".into()], ..Rule::default() };
    let raised = |now| decide(&rule, HIGH, AlertState::Unacknowledged, Known::default(), now);
    assert_eq!(raised("2026-11-02T13:59:59Z"), tell(Event::Raised, "2026-11-02T13:59:59Z"));
    assert_eq!(raised("2026-11-02T14:00:00Z"), tell(Event::Raised, "2026-11-03T06:00:00Z"));
}

#[test]
fn what_could_not_be_told_is_told_as_it_is_now_and_once_over_only_if_it_was_high() {
    let rule = Rule::default();
    let missed = waits(Event::Raised, "2026-11-02T14:09:00Z");
    let later = |priority, state| decide(&rule, priority, state, missed, "2026-11-04T09:00:00Z");
    assert_eq!(later(MEDIUM, AlertState::Acknowledged), tell(Event::Answered, "2026-11-04T09:00:00Z"));
    assert_eq!(later(HIGH, AlertState::ReturnedUnacknowledged), tell(Event::Ended, "2026-11-04T09:00:00Z"));
    assert_eq!(later(MEDIUM, AlertState::ReturnedUnacknowledged), Decision::Nothing);
    // The whole of it lay between two looks: the service was away, and the broker had kept the readings.
    let unseen = |priority| {
        decide(&rule, priority, AlertState::ReturnedUnacknowledged, Known::default(), "2026-11-04T09:00:00Z")
    };
    assert_eq!(unseen(HIGH), tell(Event::Ended, "2026-11-04T09:00:00Z"));
    assert_eq!(unseen(MEDIUM), Decision::Nothing);
}

#[test]
fn a_rule_that_would_hold_something_for_ever_holds_nothing() {
    let never =
        Rule { shifts: vec!["night".into()], quiet: Some(Quiet::Shifts(vec!["night".into()])), ..Rule::default() };
    let noon = at("2026-11-02T12:00:00Z");
    assert_eq!(never.due(MEDIUM, noon, &calendar()), noon);
    assert_eq!(never.due(HIGH, noon, &calendar()), at("2026-11-02T22:00:00Z"));
}

proptest! {
    /// Over two years, changes of clocks included.
    #[test]
    fn a_high_alert_is_never_held_by_a_quiet_time_and_another_until_it_ends(
        minute in 0_i64..2 * 366 * 24 * 60,
        from in 0_u32..24,
        hours in 1_u32..24,
        of_shifts in any::<bool>(),
    ) {
        let quiet = if of_shifts {
            Quiet::Shifts(vec!["night".into(), "early".into()])
        } else {
            Quiet::Hours { from: time_of_day(from), to: time_of_day((from + hours) % 24) }
        };
        let rule = Rule { quiet: Some(quiet), ..Rule::default() };
        let calendar = calendar();
        let now = at("2026-01-01T00:00:00Z") + Span::minutes(minute);
        prop_assert_eq!(rule.due(HIGH, now, &calendar), now);
        let due = rule.due(MEDIUM, now, &calendar);
        prop_assert!(due >= now && due - now <= Span::minutes(25 * 60));
        prop_assert_eq!(rule.due(MEDIUM, due, &calendar), due, "at its end it is over");
        if due > now {
            let before = Timestamp(due.0 - 1);
            prop_assert_eq!(rule.due(MEDIUM, before, &calendar), due, "until its end it lasts");
        }
    }
}
