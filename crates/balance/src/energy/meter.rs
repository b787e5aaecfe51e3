//! A meter's readings as a function of time: what flowed between two moments, and for how long it is known.

use reading::{NumberSeries, Quality, Quantity, Signal, Span, Timestamp};

/// The usable readings of one signal, in order of time, in the unit used for calculation.
pub(crate) struct Readings {
    at: Vec<(Timestamp, f64)>,
    /// From when on the plant said that there is no value, in order of time.
    ended: Vec<Timestamp>,
    /// How long a value stands for the present one.
    max_age: Span,
}

impl Readings {
    /// The good and believable readings of a signal.
    pub(crate) fn of(signal: &Signal, series: Option<&NumberSeries>) -> Self {
        let rows = series.into_iter().flat_map(|series| (0..series.len()).map(move |row| (series, row)));
        let of_quality =
            |wanted| rows.clone().filter(move |(series, row)| Quality::from_code(series.quality[*row]) == wanted);
        let time = |(series, row): (&NumberSeries, usize)| Timestamp(series.time_us[row]);
        let value = |(series, row): (&NumberSeries, usize)| (time((series, row)), signal.to_base(series.value[row]));
        let believable = |(_, value): &(Timestamp, f64)| signal.quantity.plausible().contains(value);
        Self {
            at: of_quality(Quality::Good).map(value).filter(believable).collect(),
            ended: of_quality(Quality::Bad).map(time).collect(),
            max_age: signal.max_age,
        }
    }

    /// The integral of a rate between two moments, each value held until the next, or until it is too old or the plant
    /// says that there is none: (value · seconds, seconds for which there is a value).
    pub(crate) fn integral(&self, from: Timestamp, to: Timestamp) -> (f64, f64) {
        let first = self.at.partition_point(|(time, _)| *time <= from).saturating_sub(1);
        let (mut sum, mut known) = (0.0, 0.0);
        for (place, (time, value)) in self.at.iter().enumerate().skip(first) {
            if *time >= to {
                break;
            }
            let next = self.at.get(place + 1).map_or(to, |(next, _)| *next);
            let ended = self.ended.get(self.ended.partition_point(|ended| ended < time)).copied().unwrap_or(to);
            let ends = next.min(*time + self.max_age).min(ended).min(to);
            let seconds = (ends - (*time).max(from)).as_seconds().max(0.0);
            sum += value * seconds;
            known += seconds;
        }
        (sum, known)
    }

    /// What a counter gained between two moments: the sum of its rises. A fall means that it began again at nought.
    pub(crate) fn gained(&self, from: Timestamp, to: Timestamp) -> f64 {
        let after = |moment: Timestamp| self.at.partition_point(|(time, _)| *time <= moment);
        let (first, last) = (after(from).max(1), after(to));
        let rises = (first..last).map(|place| (self.at[place - 1].1, self.at[place].1));
        rises.map(|(before, now)| if now >= before { now - before } else { now }).sum()
    }

    /// Whether it says anything at all.
    pub(crate) fn is_empty(&self) -> bool {
        self.at.is_empty()
    }
}

/// The readings of a line's signal of this quantity, if the line has it.
pub(crate) fn of_line(
    plant: &reading::Plant,
    line: reading::LineIndex,
    quantity: Quantity,
    readings: &[NumberSeries],
) -> Option<Readings> {
    let (id, signal) = plant.signals.of_line(line).find(|(_, signal)| signal.quantity == quantity)?;
    Some(Readings::of(signal, readings.iter().find(|series| series.signal == id)))
}

#[cfg(test)]
mod tests {
    use reading::{LineIndex, SignalId};

    use super::*;

    fn readings(rows: &[(i64, f64)]) -> Readings {
        let signal = Signal::of_topic("mill/gas", LineIndex(0), None, Quantity::GasFlow);
        let mut series = NumberSeries::new(SignalId(0));
        series.push(Timestamp(-1), 1e9, Quality::Bad);
        for (second, value) in rows {
            series.push(Timestamp(second * 1_000_000), *value, Quality::Good);
        }
        Readings::of(&signal, Some(&series))
    }

    fn at(second: i64) -> Timestamp {
        Timestamp(second * 1_000_000)
    }

    #[test]
    fn a_rate_is_held_until_the_next_reading_and_no_longer_than_it_is_young() {
        let gas = readings(&[(0, 10.0), (60, 20.0), (2000, 30.0)]);
        assert_eq!(gas.integral(at(0), at(120)), (10.0 * 60.0 + 20.0 * 60.0, 120.0));
        assert_eq!(gas.integral(at(30), at(90)), (10.0 * 30.0 + 20.0 * 30.0, 60.0));
        // Five minutes after its last word a signal is silent.
        assert_eq!(gas.integral(at(60), at(2000)), (20.0 * 300.0, 300.0));
        assert_eq!(gas.integral(at(1000), at(1100)), (0.0, 0.0));
        assert_eq!(gas.integral(at(2000), at(2010)), (300.0, 10.0));
        assert_eq!(readings(&[]).integral(at(0), at(10)), (0.0, 0.0));
    }

    #[test]
    fn a_rate_ends_where_the_plant_says_that_there_is_none() {
        let signal = Signal::of_topic("mill/gas", LineIndex(0), None, Quantity::GasFlow);
        let mut series = NumberSeries::new(SignalId(0));
        let told = [(0, 10.0, Quality::Good), (20, 0.0, Quality::Bad), (50, 20.0, Quality::Good)];
        told.iter().for_each(|(second, value, quality)| series.push(at(*second), *value, *quality));
        let gas = Readings::of(&signal, Some(&series));
        assert_eq!(gas.integral(at(0), at(60)), (10.0 * 20.0 + 20.0 * 10.0, 30.0));
    }

    #[test]
    fn parts_of_a_time_add_up_to_the_whole() {
        let gas = readings(&[(3, 10.0), (55, 20.0), (123, 5.0)]);
        let (whole, _) = gas.integral(at(0), at(300));
        let parts: f64 = (0..10).map(|part| gas.integral(at(30 * part), at(30 * part + 30)).0).sum();
        assert!((whole - parts).abs() < 1e-9);
    }

    #[test]
    fn a_counter_that_begins_again_loses_nothing_it_has_counted_since() {
        let scale = readings(&[(0, 900.0), (10, 950.0), (20, 30.0), (30, 80.0)]);
        assert_eq!(scale.gained(at(0), at(30)), 50.0 + 30.0 + 50.0);
        assert_eq!(scale.gained(at(0), at(10)) + scale.gained(at(10), at(30)), 130.0);
    }
}
