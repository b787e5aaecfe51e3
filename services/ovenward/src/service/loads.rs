//! How loaded each line is, on MQTT: for a stack light or a display.

use std::sync::Arc;

use alert::{Alert, AlertState, Load, Watch};
use anyhow::Result;
use reading::{LineIndex, Plant};
use serde::Serialize;
use store::{OutboxMessage, Store};

use super::topics::{Topics, retained};

/// The load of a line as it is published.
///
/// The load stays what it is, whatever people do about the alert: a display beside the oven must not say
/// that all is well. How loudly to say so is for the state of the alert: a stack light that flashes for
/// `unacknowledged`, stands for `acknowledged` and is dark for `shelved` and `out-of-service` does as the
/// people at the line want.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
struct LoadMessage {
    #[serde(flatten)]
    load: Load,
    /// The loudest state among the alerts that say that the line is overloaded.
    #[serde(skip_serializing_if = "Option::is_none")]
    alert: Option<AlertState>,
}

/// Tells loads, each time they or the answers to them change.
pub(crate) struct Loads {
    plant: Arc<Plant>,
    store: Store,
    topics: Topics,
    told: Vec<Option<LoadMessage>>,
}

impl Loads {
    pub(crate) fn new(plant: Arc<Plant>, store: Store, topics: Topics) -> Self {
        Self { told: vec![None; plant.lines.len()], plant, store, topics }
    }

    /// What there is to tell: how loaded each line is now, unless that was told last.
    pub(crate) fn news(&mut self, watch: &Watch) -> Result<Vec<OutboxMessage>> {
        let overloads = self.overloads()?;
        let mut news = Vec::new();
        for (index, (line, told)) in self.plant.lines.iter().zip(&mut self.told).enumerate() {
            let states = overloads.iter().filter(|alert| alert.line == line.id).map(|alert| alert.state);
            let message = LoadMessage { load: watch.load(LineIndex(index)), alert: states.min() };
            if told.replace(message) != Some(message) {
                news.push(retained(self.topics.load(&line.id), serde_json::to_vec(&message)?));
            }
        }
        Ok(news)
    }

    /// The alerts that stand and say that a line is overloaded.
    fn overloads(&self) -> Result<Vec<Alert>> {
        let standing = self.store.standing_alerts()?;
        let mut alerts =
            standing.iter().map(|record| serde_json::from_str(&record.json)).collect::<Result<Vec<Alert>, _>>()?;
        alerts.retain(|alert| alert.finding.means_overload());
        Ok(alerts)
    }
}
