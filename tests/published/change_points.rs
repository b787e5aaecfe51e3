//! `changepoint_signal.csv` and `changepoint_results.csv`: the rises that the detection finds, against the change
//! points that PELT finds (R. Killick, P. Fearnhead, I. A. Eckley, JASA 107, 2012, as computed by ruptures).

use alert::DetectionSettings;
use alert::rise::RiseTracker;
use physics::units::MetrePerMinute;
use reading::{LineIndex, RunningState, Span, Timestamp, Window};

use crate::table::Table;

const WINDOW: Span = Span::seconds(30);

/// The signal as a band speed, one value a window.
fn windows() -> Vec<Window> {
    let window = |(index, value): (usize, f64)| {
        let starts = Timestamp(WINDOW.0 * index as i64);
        Window {
            band_speed: Some(MetrePerMinute(value)),
            ..Window::unmeasured(LineIndex(0), starts, starts + WINDOW, RunningState::Baking)
        }
    };
    let table = Table::parse(include_str!("changepoint_signal.csv"));
    table.rows().map(|row| row.number("x")).enumerate().map(window).collect()
}

/// Where PELT finds that the level changes for the penalty that is twice the logarithm of the length.
fn published() -> Vec<usize> {
    let table = Table::parse(include_str!("changepoint_results.csv"));
    let row = table
        .rows()
        .find(|row| row.text("algo") == "PELT" && row.text("model") == "l2" && row.text("pen_or_n") == "10");
    let ends = row.unwrap().text("breakpoints").split(' ').map(|end| end.parse().unwrap()).collect::<Vec<usize>>();
    // The last is the end of the signal.
    ends[..ends.len() - 1].to_vec()
}

#[test]
fn rises_begin_where_the_level_is_published_to_change() {
    let windows = windows();
    let level = |from: usize, to: usize| {
        windows[from..to].iter().map(|window| window.band_speed.unwrap().0).sum::<f64>() / (to - from) as f64
    };
    let points = published();
    let bounds: Vec<usize> = [0].into_iter().chain(points.clone()).chain([windows.len()]).collect();
    let up = |at: &usize| level(bounds[*at], bounds[at + 1]) > level(bounds[at - 1], bounds[*at]);
    let rises: Vec<usize> = (1..bounds.len() - 1).filter(up).map(|at| bounds[at]).collect();
    assert_eq!(rises, [60, 150], "of the change points {points:?}");

    // The noise of this signal is four times that of a band: a step must be larger to stand out of it.
    let settings = DetectionSettings { smallest_step: 0.025, smallest_creep: 1.0, ..DetectionSettings::default() };
    let mut tracker = RiseTracker::new(settings);
    let mut found = Vec::new();
    for window in &windows {
        let began = tracker.observe(window).map(|rise| (rise.began.0 / WINDOW.0) as usize);
        if let Some(began) = began.filter(|began| found.last() != Some(began)) {
            found.push(began);
        }
        if tracker.has_come_back() {
            tracker.settle(window.ends);
        }
    }
    assert_eq!(found, rises);
}
