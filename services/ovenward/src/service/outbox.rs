//! From the store's outbox to the broker: what must leave stays until the broker has it.

use std::sync::Arc;
use std::time::Duration;

use broker::{PublishError, Publisher, PublisherState};
use store::Store;
use tokio::sync::{Notify, watch};

use super::figures::Figures;
use super::topics::{Topics, status_payload};
use reading::Timestamp;

/// Messages read from the outbox at a time.
const BATCH: usize = 100;
/// Without a notice the outbox is looked through this often.
const LOOK: Duration = Duration::from_secs(1);

/// Publishes the outbox, and `status` at each connection.
pub(crate) struct OutboxLoop {
    pub(crate) store: Store,
    pub(crate) publisher: Publisher,
    pub(crate) topics: Topics,
    pub(crate) figures: Arc<Figures>,
    pub(crate) waiting: Arc<Notify>,
    pub(crate) online_since: Timestamp,
}

impl OutboxLoop {
    /// Runs until told to stop, then empties the outbox as far as the broker lets it.
    pub(crate) async fn run(self, mut stop: watch::Receiver<bool>) {
        let mut state = self.publisher.state();
        let mut greeted = 0;
        loop {
            let stopping = *stop.borrow_and_update();
            let connection = match &*state.borrow_and_update() {
                PublisherState::Connected { connection, .. } => Some(*connection),
                PublisherState::Disconnected { .. } => None,
            };
            if let Some(connection) = connection {
                if connection != greeted && self.greet().await.is_ok() {
                    greeted = connection;
                }
                if let Err(error) = self.empty().await {
                    tracing::warn!("an alert or table could not be published yet: {error}");
                }
            }
            if stopping {
                return;
            }
            tokio::select! {
                () = self.waiting.notified() => {}
                () = tokio::time::sleep(LOOK) => {}
                _ = state.changed() => {}
                _ = stop.changed() => {}
            }
        }
    }

    async fn greet(&self) -> Result<(), PublishError> {
        self.publisher.publish(&self.topics.status(), status_payload(true, self.online_since), true).await
    }

    async fn empty(&self) -> anyhow::Result<()> {
        loop {
            let messages = tokio::task::block_in_place(|| self.store.outbox_next(0, BATCH))?;
            self.figures.set("ovenward_outbox_messages", messages.len() as f64);
            if messages.is_empty() {
                return Ok(());
            }
            let mut done = Vec::new();
            let mut failed = None;
            for outgoing in messages {
                let message = outgoing.message;
                match self.publisher.publish(&message.topic, message.payload, message.retain).await {
                    Ok(()) => done.push(outgoing.id),
                    Err(error @ PublishError::Disconnected) => {
                        failed = Some(error);
                        break;
                    }
                    // Another attempt would end the same way, and hold up what stands behind it.
                    Err(error) => {
                        tracing::error!("given up: {error}");
                        done.push(outgoing.id);
                    }
                }
            }
            self.figures.count("ovenward_published_total", done.len() as u64);
            tokio::task::block_in_place(|| self.store.outbox_done(&done))?;
            if let Some(error) = failed {
                return Err(error.into());
            }
        }
    }
}
