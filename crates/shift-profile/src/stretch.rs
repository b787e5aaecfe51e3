//! Stretches of baking, made of windows.

use std::sync::Arc;

use reading::{RunningState, Timestamp, Window};

/// An unbroken stretch of baking of one product.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    /// Code of the product.
    pub product: Arc<str>,
    /// Its first moment.
    pub starts: Timestamp,
    /// The first moment after it.
    pub ends: Timestamp,
}

/// Joins neighbouring windows in which a line baked the same product.
///
/// Expects the windows of one line in order of time. A window whose product nobody knows belongs to
/// no stretch: the table would not know where to count it.
#[must_use]
pub fn stretches(windows: &[Window]) -> Vec<Stretch> {
    let mut stretches: Vec<Stretch> = Vec::new();
    for window in windows.iter().filter(|window| window.state == RunningState::Baking) {
        let Some(product) = &window.product else { continue };
        match stretches.last_mut() {
            Some(last) if last.ends == window.starts && last.product == *product => last.ends = window.ends,
            _ => stretches.push(Stretch { product: product.clone(), starts: window.starts, ends: window.ends }),
        }
    }
    stretches
}

#[cfg(test)]
mod tests {
    use reading::{LineIndex, Span};

    use super::*;

    fn window(half_minute: i64, state: RunningState, product: Option<&str>) -> Window {
        let starts = Timestamp(0) + Span::seconds(30 * half_minute);
        let window = Window::unmeasured(LineIndex(0), starts, starts + Span::seconds(30), state);
        Window { product: product.map(Into::into), ..window }
    }

    #[test]
    fn a_gap_a_changeover_a_hole_and_an_unknown_product_end_a_stretch() {
        use RunningState::{Baking, Changeover, Gap};
        let found = stretches(&[
            window(0, Baking, Some("T800")),
            window(1, Baking, Some("T800")),
            window(2, Gap, Some("T800")),
            window(3, Baking, Some("T800")),
            window(4, Changeover, Some("R060")),
            window(5, Baking, Some("R060")),
            window(6, Baking, Some("B500")),
            window(7, Baking, None),
            window(8, Baking, Some("B500")),
            // No window 9: the line was silent.
            window(10, Baking, Some("B500")),
        ]);
        let found: Vec<_> = found
            .iter()
            .map(|stretch| (&*stretch.product, stretch.starts.0 / 30_000_000, stretch.ends.0 / 30_000_000))
            .collect();
        let expected =
            [("T800", 0, 2), ("T800", 3, 4), ("R060", 5, 6), ("B500", 6, 7), ("B500", 8, 9), ("B500", 10, 11)];
        assert_eq!(found, expected);
    }
}
