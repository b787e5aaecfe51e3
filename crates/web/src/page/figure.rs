//! Figures as people read them. What nobody knows is a dash, never 0.

/// A figure with so many decimals, or a dash.
pub(crate) fn decimals(value: Option<f64>, decimals: usize) -> String {
    value.map_or_else(|| "–".to_owned(), |value| format!("{value:.decimals$}"))
}

/// A figure with its unit, or a dash alone.
pub(crate) fn with_unit(value: Option<f64>, places: usize, unit: &str) -> String {
    value.map_or_else(|| "–".to_owned(), |value| format!("{value:.places$} {unit}"))
}

/// A band from one figure to another, kept on one line.
pub(crate) fn range(low: Option<f64>, high: Option<f64>) -> String {
    const WORD_JOINER: char = '\u{2060}';
    low.zip(high).map_or_else(|| "–".to_owned(), |(low, high)| format!("{low:.1}{WORD_JOINER}–{WORD_JOINER}{high:.1}"))
}

/// A count with its thousands apart.
pub(crate) fn count(count: u64) -> String {
    let digits = count.to_string();
    let mut text = String::new();
    for (place, digit) in digits.char_indices() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push('\u{202f}'); // narrow no-break space
        }
        text.push(digit);
    }
    text
}

/// A size in the decimal unit that leaves at most three digits before the point.
pub(crate) fn bytes(bytes: u64) -> String {
    const UNITS: [&str; 5] = ["B", "kB", "MB", "GB", "TB"];
    let mut value = bytes as f64;
    let mut unit = 0;
    while value >= 1000.0 && unit + 1 < UNITS.len() {
        value /= 1000.0;
        unit += 1;
    }
    let places = usize::from(unit > 0 && value < 100.0);
    format!("{value:.places$} {}", UNITS[unit])
}

/// An id such as `steam-short` as words.
pub(crate) fn words(id: &str) -> String {
    id.replace('-', " ")
}

/// The same with a capital at the beginning.
pub(crate) fn sentence(id: &str) -> String {
    let words = words(id);
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::{bytes, count, decimals, range, sentence, with_unit};

    #[test]
    fn figures_are_short_and_honest() {
        assert_eq!(decimals(Some(6.25), 1), "6.2");
        assert_eq!(decimals(None, 1), "–");
        assert_eq!(with_unit(Some(1.41), 2, "m/min"), "1.41 m/min");
        assert_eq!(with_unit(None, 2, "m/min"), "–");
        assert_eq!(range(Some(4.1), Some(5.7)).replace('\u{2060}', ""), "4.1–5.7");
        assert_eq!(range(None, Some(5.7)), "–");
        assert_eq!(count(999), "999");
        assert_eq!(count(1_234_567), "1\u{202f}234\u{202f}567");
        assert_eq!(bytes(999), "999 B");
        assert_eq!(bytes(1_500_000), "1.5 MB");
        assert_eq!(bytes(412_300_000_000), "412 GB");
        assert_eq!(sentence("steam-short"), "Steam short");
        assert_eq!(sentence(""), "");
    }
}
