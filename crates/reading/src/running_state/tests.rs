use super::*;

const WINDOW: Span = Span::seconds(30);

fn fed(product: &str, feed: f64) -> Infeed {
    Infeed { speed: Some(MetrePerMinute(1.0)), product: Some(product.into()), feed: Some(feed), ..Infeed::default() }
}

/// A tracker of a 24 m oven in which T800 bakes.
fn baking() -> RunningStateTracker {
    let mut tracker = RunningStateTracker::new(Metre(24.0));
    let states: Vec<_> = (0..54).map(|_| tracker.advance(WINDOW, &fed("T800", 1.0))).collect();
    assert_eq!(states[40], RunningState::Gap, "the unknown content of the start is still in the oven");
    assert_eq!(states[53], RunningState::Baking);
    tracker
}

#[test]
fn a_gap_counts_until_it_has_left_the_oven_and_the_zones_have_settled() {
    let mut tracker = baking();
    for _ in 0..3 {
        assert_eq!(tracker.advance(WINDOW, &fed("T800", 0.0)), RunningState::Gap);
    }
    let back = (1..).find(|_| tracker.advance(WINDOW, &fed("T800", 1.0)) == RunningState::Baking);
    // 24 m at 1 m/min and 2 min to settle: 52 windows.
    assert_eq!(back, Some(52));
}

#[test]
fn another_product_is_a_changeover_until_the_first_has_left() {
    let mut tracker = baking();
    assert_eq!(tracker.advance(WINDOW, &fed("R060", 0.0)), RunningState::Changeover);
    assert_eq!(tracker.advance(WINDOW, &fed("R060", 1.0)), RunningState::Changeover);
    let states: Vec<_> = (0..60).map(|_| tracker.advance(WINDOW, &fed("R060", 1.0))).collect();
    assert_eq!(states[20], RunningState::Changeover);
    assert_eq!(states[59], RunningState::Baking);
}

#[test]
fn an_empty_band_is_heating_and_a_standing_one_is_stopped() {
    let mut tracker = RunningStateTracker::new(Metre(24.0));
    assert_eq!(tracker.advance(WINDOW, &fed("T800", 0.0)), RunningState::Heating);
    let still = Infeed { speed: Some(MetrePerMinute(0.0)), ..fed("T800", 0.0) };
    assert_eq!(tracker.advance(WINDOW, &still), RunningState::Stopped);
    assert_eq!(tracker.advance(WINDOW, &Infeed::default()), RunningState::Stopped);
}

#[test]
fn a_long_stop_spoils_what_lies_in_the_oven_and_a_hiccup_does_not() {
    let still = Infeed { speed: Some(MetrePerMinute(0.0)), ..fed("T800", 1.0) };
    let mut tracker = baking();
    tracker.advance(WINDOW, &still);
    assert_eq!(tracker.advance(WINDOW, &fed("T800", 1.0)), RunningState::Baking);
    for _ in 0..20 {
        tracker.advance(WINDOW, &still);
    }
    assert_eq!(tracker.advance(WINDOW, &fed("T800", 1.0)), RunningState::Gap);
}

#[test]
fn a_long_silence_spoils_what_lies_in_the_oven() {
    let mut tracker = baking();
    tracker.miss(Span::minutes(4));
    assert_eq!(tracker.advance(WINDOW, &fed("T800", 1.0)), RunningState::Baking);
    tracker.miss(Span::minutes(6));
    assert_eq!(tracker.advance(WINDOW, &fed("T800", 1.0)), RunningState::Gap);
}

#[test]
fn without_a_feed_signal_steam_that_falls_away_is_a_gap() {
    let steam = |steam| Infeed { feed: None, steam: Some(steam), ..fed("T800", 1.0) };
    let mut tracker = RunningStateTracker::new(Metre(24.0));
    let state = (0..60).map(|_| tracker.advance(WINDOW, &steam(180.0))).last();
    assert_eq!(state, Some(RunningState::Baking));
    assert_eq!(tracker.advance(WINDOW, &steam(150.0)), RunningState::Baking);
    assert_eq!(tracker.advance(WINDOW, &steam(20.0)), RunningState::Gap);
}

#[test]
fn with_nothing_but_humidity_a_fall_in_zone_1_is_a_gap() {
    let humid = |ratio| Infeed { feed: None, first_humidity: Some(ratio), ..fed("T800", 1.0) };
    let mut tracker = RunningStateTracker::new(Metre(24.0));
    let state = (0..60).map(|_| tracker.advance(WINDOW, &humid(0.5))).last();
    assert_eq!(state, Some(RunningState::Baking));
    assert_eq!(tracker.advance(WINDOW, &humid(0.2)), RunningState::Gap);
}
