//! When a line baked which product during one shift.

use std::collections::HashSet;
use std::sync::Arc;

use reading::{ShiftInstance, Span, Timestamp};

use crate::stretch::Stretch;

/// Coverage is counted by windows of event time of this length.
const WINDOW: Span = Span::seconds(30);

/// The window in which a moment lies, as a number.
pub(crate) fn window_of(time: Timestamp) -> i64 {
    time.0.div_euclid(WINDOW.0)
}

/// The stretches of one shift, cut at its bounds.
pub(crate) struct Running {
    /// Products in the order in which they were first baked.
    products: Vec<Arc<str>>,
    /// Product (by its place in `products`), start and end, in order of time; no two overlap.
    stretches: Vec<(usize, Timestamp, Timestamp)>,
}

impl Running {
    pub(crate) fn during(shift: &ShiftInstance, stretches: &[Stretch]) -> Self {
        let mut within: Vec<_> = stretches
            .iter()
            .map(|stretch| (&stretch.product, stretch.starts.max(shift.starts), stretch.ends.min(shift.ends)))
            .filter(|(_, starts, ends)| starts < ends)
            .collect();
        within.sort_by_key(|(_, starts, _)| *starts);

        let mut running = Self { products: Vec::new(), stretches: Vec::new() };
        for (product, starts, ends) in within {
            let known = running.products.iter().position(|other| other == product);
            let product = known.unwrap_or_else(|| {
                running.products.push(product.clone());
                running.products.len() - 1
            });
            running.stretches.push((product, starts, ends));
        }
        running
    }

    /// The products in the order in which they were first baked.
    pub(crate) fn products(&self) -> &[Arc<str>] {
        &self.products
    }

    /// Product (by its place among the products), start and end of each stretch, in order of time.
    pub(crate) fn stretches(&self) -> &[(usize, Timestamp, Timestamp)] {
        &self.stretches
    }

    /// How long a product was baked, min.
    pub(crate) fn minutes(&self, product: usize) -> f64 {
        self.of(product).map(|(starts, ends)| (ends - starts).as_seconds() / 60.0).sum()
    }

    /// How many windows have a part in the stretches of a product.
    pub(crate) fn windows(&self, product: usize) -> usize {
        let last_moment = |ends: Timestamp| ends - Span(1);
        let windows: HashSet<i64> =
            self.of(product).flat_map(|(starts, ends)| window_of(starts)..=window_of(last_moment(ends))).collect();
        windows.len()
    }

    fn of(&self, product: usize) -> impl Iterator<Item = (Timestamp, Timestamp)> {
        self.stretches.iter().filter(move |(of, ..)| *of == product).map(|(_, starts, ends)| (*starts, *ends))
    }
}
