//! The last change of a band's speed: what a shift lead looks for first when an oven is not as it was.

use reading::{Timestamp, Window};
use web::SpeedChanged;

/// A band is faster or slower by at least this share; less is the drive's own trembling.
const LEAST_SHARE: f64 = 0.02;
/// A speed that is the same over so many windows is a level, and not a point on the way from one to another.
const LEVEL: usize = 10;

/// The last change within these windows, which are in order of time; none if the band has run as now all along.
pub(super) fn last_change<'a>(windows: impl Iterator<Item = &'a Window>) -> Option<SpeedChanged> {
    let speed = |window: &Window| Some((window.starts, window.band_speed?.0));
    let known: Vec<(Timestamp, f64)> = windows.filter_map(speed).collect();
    let (_, now) = *known.last()?;
    let differs = |a: f64, b: f64| (a - b).abs() > LEAST_SHARE * a.max(b);
    let mut before = known.iter().rposition(|(_, speed)| differs(*speed, now))?;
    // On the way between two levels, what came before differs as well.
    while known[before.saturating_sub(LEVEL)..before].iter().any(|(_, speed)| differs(*speed, known[before].1)) {
        before -= 1;
    }
    Some(SpeedChanged { at: known[before + 1].0.to_string(), from_m_min: known[before].1, to_m_min: now })
}

#[cfg(test)]
mod tests {
    use physics::units::MetrePerMinute;
    use reading::{LineIndex, RunningState, Span};

    use super::*;

    /// The change within windows of half a minute with these speeds, as the place of its first window, from and to.
    fn change(speeds: &[f64]) -> Option<(usize, f64, f64)> {
        let starts = |place: usize| Timestamp(0) + Span::seconds(30 * place as i64);
        let window = |(place, speed): (usize, &f64)| Window {
            band_speed: (!speed.is_nan()).then_some(MetrePerMinute(*speed)),
            ..Window::unmeasured(LineIndex(0), starts(place), starts(place + 1), RunningState::Baking)
        };
        let windows: Vec<Window> = speeds.iter().enumerate().map(window).collect();
        let change = last_change(windows.iter())?;
        let place = (0..speeds.len()).find(|place| starts(*place).to_string() == change.at)?;
        Some((place, change.from_m_min, change.to_m_min))
    }

    #[test]
    fn it_is_told_from_the_level_before_it_to_what_runs_now() {
        let level = |speed: f64, count: usize| vec![speed; count];
        assert_eq!(change(&[]), None);
        assert_eq!(change(&level(1.2, 40)), None);
        assert_eq!(change(&[level(1.2, 20), level(1.21, 20)].concat()), None, "the drive trembles");
        assert_eq!(change(&[level(1.2, 20), level(1.4, 5)].concat()), Some((20, 1.2, 1.4)));
        assert_eq!(change(&[level(1.4, 20), level(1.2, 5)].concat()), Some((20, 1.4, 1.2)), "a fall is one as well");
        assert_eq!(
            change(&[level(1.2, 20), level(1.27, 1), level(1.4, 5)].concat()),
            Some((20, 1.2, 1.4)),
            "within a window"
        );
        let ramp: Vec<f64> = (1..=20).map(|step| 1.2 + 0.01 * f64::from(step)).collect();
        let (_, from, to) = change(&[level(1.2, 20), ramp, level(1.4, 5)].concat()).expect("a change");
        assert!((from - 1.2).abs() < 0.03 && to == 1.4, "{from}: what trembles little is no way to another level");
        assert_eq!(
            change(&[level(1.2, 20), level(1.4, 30), level(1.3, 20)].concat()),
            Some((50, 1.4, 1.3)),
            "the last"
        );
        assert_eq!(
            change(&[level(1.2, 20), level(f64::NAN, 5), level(1.4, 5)].concat()),
            Some((25, 1.2, 1.4)),
            "a gap"
        );
    }
}
