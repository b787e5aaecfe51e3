//! Once an hour is over: its readings sealed. Once a day is too old, or the store too large: the oldest dropped.

use std::sync::Arc;
use std::time::Duration;

use reading::Span;
use store::{Store, StoreError};
use tokio::sync::watch;

use super::clock::PlantClock;
use super::troubles::{Troubles, Work};
use crate::config::StoreSettings;

/// How often to look whether an hour or a day is over.
const LOOK: Duration = Duration::from_secs(10);

/// Seals hours and drops days.
pub(crate) struct KeepingLoop {
    pub(crate) settings: StoreSettings,
    pub(crate) store: Store,
    pub(crate) clock: PlantClock,
    pub(crate) troubles: Arc<Troubles>,
}

impl KeepingLoop {
    /// Runs until told to stop.
    pub(crate) async fn run(self, mut stop: watch::Receiver<bool>) {
        while !*stop.borrow_and_update() {
            tokio::task::block_in_place(|| {
                let now = self.clock.now();
                self.troubles.note(Work::Sealing, self.store.seal_until(now - self.settings.seal_after));
                self.troubles.note(Work::Dropping, self.drop_what_is_old());
            });
            tokio::select! {
                () = tokio::time::sleep(LOOK) => {}
                _ = stop.changed() => {}
            }
        }
    }

    fn drop_what_is_old(&self) -> Result<(), StoreError> {
        let mut dropped = 0;
        if let Some(days) = self.settings.keep_days {
            dropped += self.store.drop_before(self.clock.now() - Span::minutes(24 * 60 * i64::from(days)))?;
        }
        if let Some(bytes) = self.settings.keep_bytes {
            dropped += self.store.drop_above(bytes)?;
        }
        if dropped > 0 {
            tracing::info!(readings = dropped, "the oldest readings were dropped, as the config says");
        }
        Ok(())
    }
}
