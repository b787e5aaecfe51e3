//! From the store's outbox to the broker: what must leave stays until the broker has it.

use std::sync::Arc;
use std::time::Duration;

use broker::{PublishError, Publisher, PublisherState};
use store::Store;
use tokio::sync::{Notify, watch};

use super::figures::Figures;
use super::topics::{Topics, status_payload};
use super::troubles::{Troubles, Work};
use reading::Timestamp;

/// Messages read from the outbox at a time.
const BATCH: usize = 100;
/// Without a notice the outbox is looked through this often.
const LOOK: Duration = Duration::from_secs(1);

/// Publishes the outbox, and `status` at each connection and whenever a trouble begins or ends.
pub(crate) struct OutboxLoop {
    pub(crate) store: Store,
    pub(crate) publisher: Publisher,
    pub(crate) topics: Topics,
    pub(crate) figures: Arc<Figures>,
    pub(crate) waiting: Arc<Notify>,
    pub(crate) troubles: Arc<Troubles>,
    pub(crate) online_since: Timestamp,
    /// What the broker has acknowledged and the store could not yet be told of.
    pub(crate) published: Vec<i64>,
}

impl OutboxLoop {
    /// Runs until told to stop, then empties the outbox as far as the broker lets it.
    pub(crate) async fn run(mut self, mut stop: watch::Receiver<bool>) {
        let mut state = self.publisher.state();
        let mut troubles = self.troubles.changes();
        let mut greeted = None;
        loop {
            let stopping = *stop.borrow_and_update();
            let connection = match &*state.borrow_and_update() {
                PublisherState::Connected { connection, .. } => Some(*connection),
                PublisherState::Disconnected { .. } => None,
            };
            if let Some(connection) = connection {
                let problems: Vec<String> = troubles.borrow_and_update().values().cloned().collect();
                let greeting = (connection, problems);
                if greeted.as_ref() != Some(&greeting) && self.greet(&greeting.1).await.is_ok() {
                    greeted = Some(greeting);
                }
                let attempt = self.empty().await;
                self.troubles.note(Work::Publishing, attempt);
            }
            if stopping {
                return;
            }
            tokio::select! {
                () = self.waiting.notified() => {}
                () = tokio::time::sleep(LOOK) => {}
                _ = state.changed() => {}
                _ = troubles.changed() => {}
                _ = stop.changed() => {}
            }
        }
    }

    async fn greet(&self, problems: &[String]) -> Result<(), PublishError> {
        self.publisher.publish(&self.topics.status(), status_payload(true, self.online_since, problems), true).await
    }

    async fn empty(&mut self) -> anyhow::Result<()> {
        loop {
            let after = self.published.last().copied().unwrap_or(0);
            let messages = tokio::task::block_in_place(|| self.store.outbox_next(after, BATCH))?;
            self.figures.set("ovenward_outbox_messages", messages.len() as f64);
            if messages.is_empty() && self.published.is_empty() {
                return Ok(());
            }
            let mut failed = None;
            let before = self.published.len();
            for outgoing in messages {
                let message = outgoing.message;
                match self.publisher.publish(&message.topic, message.payload, message.retain).await {
                    Ok(()) => self.published.push(outgoing.id),
                    Err(error @ PublishError::Disconnected) => {
                        failed = Some(error);
                        break;
                    }
                    // Another attempt would end the same way, and hold up what stands behind it.
                    Err(error) => {
                        tracing::error!("given up: {error}");
                        self.published.push(outgoing.id);
                    }
                }
            }
            self.figures.count("ovenward_published_total", (self.published.len() - before) as u64);
            tokio::task::block_in_place(|| self.store.outbox_done(&self.published))?;
            self.published.clear();
            if let Some(error) = failed {
                return Err(error.into());
            }
        }
    }
}
