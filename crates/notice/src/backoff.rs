//! How long to wait before the next attempt.

use reading::Span;

const SHORTEST: Span = Span::seconds(5);
const LONGEST: Span = Span::minutes(5);

/// The pause after so many attempts that failed: doubling from 5 s to 5 min. It depends on nothing but the count, which
/// is stored, so that a restart neither forgets nor prolongs it.
#[must_use]
pub fn pause_after(failed: u32) -> Span {
    // Beyond 5 s · 2⁶ the longest is reached.
    let doublings = failed.saturating_sub(1).min(6);
    Span((SHORTEST.0 << doublings).min(LONGEST.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pauses_double_up_to_the_longest() {
        let seconds: Vec<i64> = (1..=8).map(|failed| pause_after(failed).0 / 1_000_000).collect();
        assert_eq!(seconds, [5, 10, 20, 40, 80, 160, 300, 300]);
        assert_eq!((pause_after(0), pause_after(u32::MAX)), (SHORTEST, LONGEST));
    }
}
