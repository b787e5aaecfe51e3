//! A scale of characters, for drawings in a terminal.

/// Characters from the first tick to the last.
const WIDTH: usize = 50;
/// Most stretches between ticks: each must have room for its number.
const MOST_STEPS: f64 = 5.0;

/// Ticks at round numbers, and where a value stands between them.
pub(super) struct Axis {
    low: f64,
    step: f64,
    steps: usize,
}

impl Axis {
    /// An axis that holds every value from `lowest` to `highest`.
    pub(super) fn over(lowest: f64, highest: f64) -> Self {
        let decades = (-1..=6).map(|power| 10_f64.powi(power));
        let round_steps = decades.flat_map(|decade| [1.0, 2.0, 5.0].map(|first| first * decade));
        let mut ends = round_steps.map(|step| (step, (lowest / step).floor(), (highest / step).ceil()));
        // A hundred thousand is beyond any humidity or temperature: the fallback is for what is no number.
        let (step, first, last) = ends.find(|(_, first, last)| last - first <= MOST_STEPS).unwrap_or((1.0, 0.0, 1.0));
        Self { low: first * step, step, steps: ((last - first) as usize).max(1) }
    }

    /// The numbers of the ticks, each beginning at its tick.
    pub(super) fn numbers(&self) -> String {
        let decimals = usize::from(self.step < 1.0);
        let mut line = String::new();
        for tick in 0..=self.steps {
            let at = self.column(self.low + tick as f64 * self.step);
            line.push_str(&" ".repeat(at.saturating_sub(line.chars().count())));
            line.push_str(&format!("{:.decimals$}", self.low + tick as f64 * self.step));
        }
        line
    }

    /// A band with its mean, over the ticks: `├──●──┤`.
    pub(super) fn band(&self, low: f64, mean: f64, high: f64) -> String {
        let mut line = vec![' '; WIDTH + 1];
        for tick in 0..=self.steps {
            line[self.column(self.low + tick as f64 * self.step)] = '·';
        }
        let (first, last) = (self.column(low), self.column(high));
        line[first..=last].fill('─');
        line[first] = '├';
        line[last] = '┤';
        line[self.column(mean)] = '●';
        line.into_iter().collect()
    }

    fn column(&self, value: f64) -> usize {
        let share = (value - self.low) / (self.step * self.steps as f64);
        (share.clamp(0.0, 1.0) * WIDTH as f64).round() as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_stands_where_its_numbers_are() {
        let axis = Axis::over(0.0, 44.1);
        assert_eq!(axis.numbers(), "0         10        20        30        40        50");
        assert_eq!(axis.band(10.0, 15.0, 21.0), "·         ├────●─────┤        ·         ·         ·");
        // A band narrower than a character is its mean.
        assert_eq!(axis.band(30.0, 30.1, 30.2), "·         ·         ·         ●         ·         ·");
    }

    /// A band without any width must not ask for ever finer ticks.
    #[test]
    fn an_axis_begins_and_ends_at_round_numbers() {
        assert_eq!(Axis::over(213.4, 246.2).numbers(), "210          220         230          240         250");
        assert_eq!(Axis::over(5.0, 5.0).numbers(), "5.0                                               5.1");
    }
}
