//! Ids of alerts: sortable by time, and the same for the same event.

use reading::Timestamp;
use ulid::Ulid;

use crate::alert::Kind;

/// The ULID of an alert. Its random part is a hash of what the alert is about, so that a replay, or
/// a restart that reads the last hours again, arrives at the same id.
pub(crate) fn alert_id(site: &str, line: &str, kind: Kind, about: &str, began: Timestamp, raised: Timestamp) -> String {
    let about = format!("{site}/{line}/{}/{about}/{}", kind.name(), began.0);
    let milliseconds = u64::try_from(raised.0 / 1000).unwrap_or(0);
    Ulid::from_parts(
        milliseconds,
        u128::from(fnv1a(about.as_bytes(), 0)) << 64 | u128::from(fnv1a(about.as_bytes(), 1)),
    )
    .to_string()
}

/// When the alert was raised whose id begins like this, to the millisecond: the first ten letters of a
/// ULID are its time. `None` for fewer of them, or for what is no ULID.
#[must_use]
pub fn raised_at(id: &str) -> Option<Timestamp> {
    let milliseconds = Ulid::from_string(&format!("{:0<26}", id.get(..10)?)).ok()?.timestamp_ms();
    i64::try_from(milliseconds).ok().map(|milliseconds| Timestamp(milliseconds * 1000))
}

/// FNV-1a, 64 bit, begun with a salt.
fn fnv1a(bytes: &[u8], salt: u8) -> u64 {
    const OFFSET: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0000_0100_0000_01b3;
    std::iter::once(&salt).chain(bytes).fold(OFFSET, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(PRIME))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_event_has_the_same_id_and_another_has_another() {
        let id = |line, began| {
            alert_id(
                "millbrook",
                line,
                Kind::UnmatchedSpeedRise,
                "carryover",
                Timestamp(began),
                Timestamp(1_800_000_000_000_000),
            )
        };
        assert_eq!(id("tunnel-1", 7), id("tunnel-1", 7));
        assert_ne!(id("tunnel-1", 7), id("tunnel-2", 7));
        assert_ne!(id("tunnel-1", 7), id("tunnel-1", 8));
        assert_eq!(id("tunnel-1", 7).len(), 26);
        assert!(id("tunnel-1", 7).starts_with("01"));
    }

    #[test]
    fn an_id_or_its_beginning_tells_when_it_was_raised() {
        let raised = Timestamp(1_800_000_000_123_000);
        let id = alert_id("millbrook", "tunnel-1", Kind::UnmatchedSpeedRise, "", Timestamp(7), raised);
        assert_eq!(raised_at(&id), Some(raised));
        assert_eq!(raised_at(&id[..10]), Some(raised));
        for no_id in ["", &id[..9], "not an alert", "ÖÖÖÖÖÖÖÖÖÖ"] {
            assert_eq!(raised_at(no_id), None, "{no_id}");
        }
    }
}
