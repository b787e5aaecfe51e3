//! Faults between the plant and the service: connections that break, cables that are pulled, brokers that die.

use std::time::Duration;

use crate::gate::Gate;
use crate::plant::{Plant, wait_for};
use crate::traffic::{Flooding, assert_nothing_lost, stored, wait_until_stored};

#[test]
fn connections_that_are_cut_lose_nothing() {
    let place = Plant::new();
    let gate = Gate::of(&place);
    let serving = place.serve();
    let flooding = Flooding::of(&place, 5000.0, Duration::from_secs(8));
    for _ in 0..8 {
        std::thread::sleep(Duration::from_millis(900));
        gate.cut();
    }
    let sent = flooding.acknowledged();
    // After so many bad connections the service takes its time before the next.
    wait_until_stored(&place, sent.len());
    drop(serving);
    assert_nothing_lost(&sent, &stored(&place));
}

#[test]
fn a_connection_that_falls_silent_is_given_up_and_loses_nothing() {
    let place = Plant::new();
    let gate = Gate::of(&place);
    let serving = place.serve();
    let flooding = Flooding::of(&place, 5000.0, Duration::from_secs(6));
    wait_for("readings to be stored", || place.metric("ovenward_readings_stored_total") > Some(5000.0));
    gate.fall_silent();
    let sent = flooding.acknowledged();
    // The service notices by a ping that nobody answers.
    wait_until_stored(&place, sent.len());
    drop(serving);
    assert_nothing_lost(&sent, &stored(&place));
}
