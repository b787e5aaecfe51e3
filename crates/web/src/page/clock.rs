//! Times as people at the line say them.

use chrono::{DateTime, FixedOffset, TimeDelta};

use crate::html::Element;

/// Plant time. Times of other offsets are shown in the offset of the plant.
pub(crate) struct Clock {
    now: Option<DateTime<FixedOffset>>,
}

impl Clock {
    /// A clock that shows this time (RFC 3339). One that cannot be read leaves every time as it was written.
    pub(crate) fn of(now: &str) -> Self {
        Self { now: DateTime::parse_from_rfc3339(now).ok() }
    }

    /// The time now, such as `14:31`.
    pub(crate) fn face(&self) -> Option<String> {
        self.now.map(|now| now.format("%H:%M").to_string())
    }

    /// A time of today as `14:02`, of another day as `6 Oct 14:02`.
    pub(crate) fn say(&self, time: &str) -> String {
        let Some((now, time)) = self.both(time) else { return time.to_owned() };
        let pattern = if now.date_naive() == time.date_naive() { "%H:%M" } else { "%-d %b %H:%M" };
        time.format(pattern).to_string()
    }

    /// [`say`](Self::say) as an element that machines can read as well.
    pub(crate) fn element(&self, time: &str) -> Element {
        Element::new("time").attribute("datetime", time).text(self.say(time))
    }

    /// How long ago, such as `29 min` or `3 h 10 min`.
    pub(crate) fn ago(&self, time: &str) -> Option<String> {
        self.age(time).map(span)
    }

    /// How long lies between two times.
    pub(crate) fn between(&self, from: &str, to: &str) -> Option<String> {
        let (_, from) = self.both(from)?;
        let (_, to) = self.both(to)?;
        Some(span(to - from))
    }

    /// The time that has passed since.
    pub(crate) fn age(&self, time: &str) -> Option<TimeDelta> {
        let (now, time) = self.both(time)?;
        Some(now - time)
    }

    fn both(&self, time: &str) -> Option<(DateTime<FixedOffset>, DateTime<FixedOffset>)> {
        let now = self.now?;
        let time = DateTime::parse_from_rfc3339(time).ok()?;
        Some((now, time.with_timezone(now.offset())))
    }
}

fn span(span: TimeDelta) -> String {
    let minutes = span.num_minutes().max(0);
    match (minutes / 60, minutes % 60) {
        (0, 0) => "less than a minute".to_owned(),
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::Clock;

    #[test]
    fn shows_times_in_the_offset_of_the_plant() {
        let clock = Clock::of("2026-10-06T14:31:10+01:00");
        assert_eq!(clock.face().as_deref(), Some("14:31"));
        assert_eq!(clock.say("2026-10-06T13:02:00Z"), "14:02");
        assert_eq!(clock.say("2026-10-05T23:30:00Z"), "00:30");
        assert_eq!(clock.say("2026-10-05T22:30:00Z"), "5 Oct 23:30");
    }

    #[test]
    fn says_how_long_ago() {
        let clock = Clock::of("2026-10-06T14:31:10+01:00");
        assert_eq!(clock.ago("2026-10-06T13:02:00Z").as_deref(), Some("29 min"));
        assert_eq!(clock.ago("2026-10-06T10:31:10Z").as_deref(), Some("3 h"));
        assert_eq!(clock.ago("2026-10-06T10:21:10Z").as_deref(), Some("3 h 10 min"));
        assert_eq!(clock.ago("2026-10-06T13:31:11Z").as_deref(), Some("less than a minute"));
    }

    #[test]
    fn leaves_what_is_no_time_as_it_is() {
        assert_eq!(Clock::of("2026-10-06T14:31:10+01:00").say("soon"), "soon");
        assert_eq!(Clock::of("").say("2026-10-06T13:02:00Z"), "2026-10-06T13:02:00Z");
        assert_eq!(Clock::of("").ago("2026-10-06T13:02:00Z"), None);
    }
}
