//! Ids of alerts: sortable by time, and the same for the same event.

use reading::Timestamp;
use ulid::Ulid;

use crate::alert::Kind;

/// The ULID of an alert. Its random part is a hash of what the alert is about, so that a replay, or
/// a restart that reads the last hours again, arrives at the same id.
pub(crate) fn alert_id(site: &str, line: &str, kind: Kind, began: Timestamp, raised: Timestamp) -> String {
    let about = format!("{site}/{line}/{}/{}", kind.name(), began.0);
    let milliseconds = u64::try_from(raised.0 / 1000).unwrap_or(0);
    Ulid::from_parts(
        milliseconds,
        u128::from(fnv1a(about.as_bytes(), 0)) << 64 | u128::from(fnv1a(about.as_bytes(), 1)),
    )
    .to_string()
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
            alert_id("millbrook", line, Kind::UnmatchedSpeedRise, Timestamp(began), Timestamp(1_800_000_000_000_000))
        };
        assert_eq!(id("tunnel-1", 7), id("tunnel-1", 7));
        assert_ne!(id("tunnel-1", 7), id("tunnel-2", 7));
        assert_ne!(id("tunnel-1", 7), id("tunnel-1", 8));
        assert_eq!(id("tunnel-1", 7).len(), 26);
        assert!(id("tunnel-1", 7).starts_with("01"));
    }
}
