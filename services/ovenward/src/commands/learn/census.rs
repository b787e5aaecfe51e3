//! How many windows of a line could teach at all.

use std::collections::BTreeMap;
use std::sync::Arc;

use reading::{RunningState, Window};

/// Two lines on what the windows of a line show: how many of baking which product, and what the others are.
pub(super) fn census(windows: &[Window]) -> [String; 2] {
    let of = |state| windows.iter().filter(move |window| window.state == state);
    let mut products: BTreeMap<Option<&Arc<str>>, usize> = BTreeMap::new();
    for window in of(RunningState::Baking) {
        *products.entry(window.product.as_ref()).or_default() += 1;
    }
    let of_product = |(product, count): (Option<&Arc<str>>, usize)| {
        format!("{count} {}", product.map_or("of no known product", |code| code))
    };
    let baked: Vec<String> = products.into_iter().map(of_product).collect();
    let rest = [
        (RunningState::Gap, "with a gap in the oven"),
        (RunningState::Changeover, "of changeover"),
        (RunningState::Heating, "empty"),
        (RunningState::Stopped, "stopped"),
    ];
    let others: Vec<String> = rest
        .into_iter()
        .map(|(state, name)| (of(state).count(), name))
        .filter(|(count, _)| *count > 0)
        .map(|(count, name)| format!("{count} {name}"))
        .collect();
    let list = |parts: Vec<String>| if parts.is_empty() { "none".into() } else { parts.join(", ") };
    [format!("windows of baking: {}", list(baked)), format!("not learned from: {}", list(others))]
}

#[cfg(test)]
mod tests {
    use reading::{LineIndex, Span, Timestamp};

    use super::*;

    fn windows(count: usize, state: RunningState, product: Option<&str>) -> Vec<Window> {
        let (starts, ends) = (Timestamp(0), Timestamp(0) + Span::seconds(30));
        let unmeasured = Window::unmeasured(LineIndex(0), starts, ends, state);
        let window = Window { product: product.map(Arc::from), ..unmeasured };
        vec![window; count]
    }

    #[test]
    fn every_window_is_counted_once() {
        let all = [
            windows(5, RunningState::Baking, Some("T800")),
            windows(3, RunningState::Baking, Some("B400")),
            windows(2, RunningState::Gap, Some("T800")),
            windows(1, RunningState::Stopped, None),
        ];
        assert_eq!(
            census(&all.concat()),
            ["windows of baking: 3 B400, 5 T800", "not learned from: 2 with a gap in the oven, 1 stopped"]
        );
        assert_eq!(census(&[]), ["windows of baking: none", "not learned from: none"]);
    }
}
