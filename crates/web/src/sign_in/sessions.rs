//! Who is signed in: kept in memory, so that a restart signs everybody out.

use std::collections::HashMap;
use std::time::{Duration, Instant};

use super::secret::random;

/// Nobody has asked for anything for this long: a shift and its handover.
const IDLE: Duration = Duration::from_secs(12 * 3600);
/// Whatever is asked, once in this long everybody signs in again.
const LONGEST: Duration = Duration::from_secs(7 * 24 * 3600);
/// More sessions are kept by nobody: the one asked for longest ago goes.
const MOST: usize = 10_000;

struct Session {
    name: String,
    began: Instant,
    used: Instant,
}

/// The sessions by their id.
#[derive(Default)]
pub(super) struct Sessions {
    by_id: HashMap<String, Session>,
}

impl Sessions {
    /// Begins a session under an id that nobody has seen before, whatever the client sent.
    pub(super) fn begin(&mut self, name: &str, now: Instant) -> String {
        self.by_id.retain(|_, session| session.lasts(now));
        if self.by_id.len() >= MOST {
            let oldest = self.by_id.iter().min_by_key(|(_, session)| session.used).map(|(id, _)| id.clone());
            oldest.and_then(|id| self.by_id.remove(&id));
        }
        let id = random();
        self.by_id.insert(id.clone(), Session { name: name.into(), began: now, used: now });
        id
    }

    /// Whose session it is, if it lasts.
    pub(super) fn name(&mut self, id: &str, now: Instant) -> Option<String> {
        let session = self.by_id.get_mut(id).filter(|session| session.lasts(now))?;
        session.used = now;
        Some(session.name.clone())
    }

    /// Ends a session.
    pub(super) fn end(&mut self, id: &str) {
        self.by_id.remove(id);
    }
}

impl Session {
    fn lasts(&self, now: Instant) -> bool {
        now.duration_since(self.used) < IDLE && now.duration_since(self.began) < LONGEST
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_session_lasts_while_it_is_used_and_not_for_ever() {
        let (mut sessions, began) = (Sessions::default(), Instant::now());
        let id = sessions.begin("Ann", began);
        let hours = |hours: u64| began + Duration::from_secs(3600 * hours);
        assert_eq!(sessions.name(&id, hours(11)).as_deref(), Some("Ann"));
        assert_eq!(sessions.name(&id, hours(22)).as_deref(), Some("Ann"), "it was used in between");
        assert_eq!(sessions.name(&id, hours(34)), None);
        let id = sessions.begin("Ann", began);
        (1..17).for_each(|count| assert!(sessions.name(&id, hours(10 * count)).is_some()));
        assert_eq!(sessions.name(&id, hours(168)), None);
    }

    #[test]
    fn a_session_ends_when_it_is_ended_and_an_unknown_one_is_nobodys() {
        let (mut sessions, now) = (Sessions::default(), Instant::now());
        let (one, other) = (sessions.begin("Ann", now), sessions.begin("Ann", now));
        assert_ne!(one, other);
        sessions.end(&one);
        assert_eq!((sessions.name(&one, now), sessions.name("0", now)), (None, None));
        assert_eq!(sessions.name(&other, now).as_deref(), Some("Ann"));
    }
}
