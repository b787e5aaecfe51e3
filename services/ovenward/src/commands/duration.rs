//! How long, as people write it: `45min`, `2h`, `1h30min`.

use reading::Span;

/// Reads hours and minutes.
///
/// # Errors
/// In words, what to write instead.
pub(super) fn duration(text: &str) -> Result<Span, String> {
    let wrong = || format!("{text:?} is no length of time; write 45min, 2h or 1h30min");
    let mut rest = text.trim();
    let mut minutes: i64 = 0;
    while !rest.is_empty() {
        let digits = rest.find(|letter: char| !letter.is_ascii_digit()).ok_or_else(wrong)?;
        let number: i64 = rest[..digits].parse().map_err(|_| wrong())?;
        let unit = rest[digits..].split(|letter: char| letter.is_ascii_digit()).next().unwrap_or_default();
        let factor = match unit.trim() {
            "h" => 60,
            "min" | "m" => 1,
            _ => return Err(wrong()),
        };
        minutes = number.checked_mul(factor).and_then(|part| minutes.checked_add(part)).ok_or_else(wrong)?;
        rest = &rest[digits + unit.len()..];
    }
    // A million minutes are two years: more than anyone means.
    if (1..=1_000_000).contains(&minutes) { Ok(Span::minutes(minutes)) } else { Err(wrong()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_and_minutes_are_read_and_nothing_else() {
        for (text, minutes) in [("45min", 45), ("2h", 120), ("1h30min", 90), ("1 h 30 min", 90), ("90m", 90)] {
            assert_eq!(duration(text), Ok(Span::minutes(minutes)), "{text}");
        }
        for text in ["", "45", "h", "2d", "1.5h", "0min", "-5min", "999999999999999999h", "99999999h", "2h½"] {
            assert!(duration(text).is_err_and(|said| said.contains("write 45min")), "{text}");
        }
    }
}
