//! From deliveries to what a commit takes: readings, payloads that gave none, and what was learned of edge nodes.

use std::sync::Arc;
use std::time::Instant;

use broker::{Delivery, Token};
use reading::{Plant, Quality, Reading, Timestamp, payload};
use sparkplug::Nodes;
use store::Quarantined;

use super::clock::{PlantClock, StepWatch};
use super::figures::Figures;

/// What came in and is not on the disk yet.
#[derive(Default)]
pub(crate) struct Group {
    pub(crate) readings: Vec<Reading>,
    pub(crate) quarantined: Vec<Quarantined>,
    pub(crate) notes: Vec<(String, String)>,
    /// Of the messages, to be acknowledged once all of this is safe.
    pub(crate) tokens: Vec<Token>,
}

impl Group {
    pub(crate) fn is_empty(&self) -> bool {
        self.tokens.is_empty() && self.readings.is_empty()
    }
}

/// Reads messages.
pub(crate) struct Decoder {
    pub(crate) plant: Arc<Plant>,
    pub(crate) nodes: Nodes,
    pub(crate) figures: Arc<Figures>,
    pub(crate) clock: PlantClock,
    pub(crate) steps: StepWatch,
}

impl Decoder {
    /// Adds messages to a group, in the order in which they came.
    pub(crate) fn take(&mut self, deliveries: Vec<Delivery>, group: &mut Group) {
        // A simulated plant's clock runs faster than time; nobody sets it.
        let doubtful =
            matches!(self.clock, PlantClock::Machine) && self.steps.is_doubtful(self.clock.now(), Instant::now());
        let signals = &self.plant.signals;
        for delivery in deliveries {
            let (topic, received) = (&delivery.topic, Timestamp(delivery.received_us));
            let of_edge_node = self.nodes.receive(signals, topic, &delivery.payload, received);
            let results = of_edge_node.unwrap_or_else(|| payload::decode(signals, topic, &delivery.payload, received));
            for result in results {
                match result {
                    Ok(mut reading) => {
                        if doubtful && reading.time == received && reading.quality == Quality::Good {
                            reading.quality = Quality::Uncertain;
                        }
                        group.readings.push(reading);
                    }
                    Err(rejection) => {
                        let count = self.figures.reject(rejection.reason.name());
                        // The first, then every power of two: a broken sensor must not fill the log.
                        if count.is_power_of_two() {
                            tracing::warn!("{topic}: {rejection} ({count} for this reason so far)");
                        }
                        group.quarantined.push(Quarantined {
                            received,
                            topic: topic.clone(),
                            payload: delivery.payload.clone(),
                            reason: rejection.reason.name().into(),
                            detail: rejection.detail,
                        });
                    }
                }
            }
            group.tokens.push(delivery.token);
        }
        self.note(group);
    }

    /// The broker has lost our session: what edge nodes said before no longer stands.
    pub(crate) fn session_lost(&mut self, group: &mut Group) {
        group.readings.extend(self.nodes.session_lost());
        self.note(group);
    }

    /// A later note of the same key stands behind the earlier one, and overwrites it.
    fn note(&mut self, group: &mut Group) {
        group.notes.extend(self.nodes.take_notes());
    }
}
