use super::*;
use physics::units::HumidityRatio;
use reading::{LineIndex, ZoneWindow};

/// Windows of baking at these speeds, m/min, one every 30 s.
fn windows(speeds: &[f64]) -> Vec<Window> {
    let width = Span::seconds(30);
    speeds
        .iter()
        .enumerate()
        .map(|(index, &speed)| {
            let starts = Timestamp(width.0 * index as i64);
            Window {
                band_speed: Some(MetrePerMinute(speed)),
                zones: vec![ZoneWindow { humidity: Some(HumidityRatio(0.2)), ..ZoneWindow::default() }],
                ..Window::unmeasured(LineIndex(0), starts, starts + width, RunningState::Baking)
            }
        })
        .collect()
}

fn follow(tracker: &mut RiseTracker, windows: &[Window]) {
    for window in windows {
        tracker.observe(window);
    }
}

fn speeds(parts: &[(usize, f64)]) -> Vec<f64> {
    parts.iter().flat_map(|&(count, speed)| std::iter::repeat_n(speed, count)).collect()
}

#[test]
fn a_step_is_found_where_it_began() {
    let mut tracker = RiseTracker::new(DetectionSettings::default());
    follow(&mut tracker, &windows(&speeds(&[(30, 1.17), (4, 1.32)])));
    let rise = tracker.rise().cloned();
    let rise = rise.as_ref().map(|rise| (rise.began, rise.before.0, rise.after.0));
    assert_eq!(rise, Some((Timestamp(30 * 30_000_000), 1.17, 1.32)));
}

/// The window in which the band began to speed up holds a little of both speeds; the rise that
/// shows in it first is a small one, which must not be taken for come back when the rest follows.
#[test]
fn a_step_that_begins_inside_a_window_stays_a_rise() {
    let mut tracker = RiseTracker::new(DetectionSettings::default());
    for window in windows(&speeds(&[(30, 1.17), (1, 1.195), (20, 1.32)])) {
        tracker.observe(&window);
        if tracker.rise().is_some() {
            assert!(!tracker.has_come_back(), "at {}", window.starts);
        }
    }
    assert!(tracker.rise().is_some_and(|rise| (rise.after.0 - 1.32).abs() < 1e-9));
}

#[test]
fn a_speed_that_returns_has_come_back() {
    let mut tracker = RiseTracker::new(DetectionSettings::default());
    follow(&mut tracker, &windows(&speeds(&[(30, 1.17), (20, 1.32), (4, 1.18)])));
    assert!(tracker.has_come_back());
}

#[test]
fn a_speed_that_returns_in_part_has_slowed_and_not_come_back() {
    let mut tracker = RiseTracker::new(DetectionSettings::default());
    follow(&mut tracker, &windows(&speeds(&[(30, 1.17), (20, 1.32), (4, 1.26)])));
    assert_eq!((tracker.has_slowed(), tracker.has_come_back()), (true, false));
}

#[test]
fn a_creep_of_six_percent_in_forty_minutes_is_a_rise_and_noise_is_none() {
    let creep: Vec<f64> = (0..160).map(|i| 1.2 * (1.0 + 0.06 * f64::from((i - 60).clamp(0, 80)) / 80.0)).collect();
    let mut tracker = RiseTracker::new(DetectionSettings::default());
    follow(&mut tracker, &windows(&creep));
    assert!(tracker.rise().is_some());
    let noise: Vec<f64> = (0..160).map(|i| 1.2 * (1.0 + 0.008 * f64::from(i * 37 % 11 - 5) / 5.0)).collect();
    let mut tracker = RiseTracker::new(DetectionSettings::default());
    follow(&mut tracker, &windows(&noise));
    assert_eq!(tracker.rise(), None);
}

#[test]
fn a_new_product_forgets_the_speed_of_the_last() {
    let mut all = windows(&speeds(&[(30, 1.17), (10, 1.32)]));
    all[30].state = RunningState::Changeover;
    let mut tracker = RiseTracker::new(DetectionSettings::default());
    follow(&mut tracker, &all);
    assert_eq!(tracker.rise(), None);
}
