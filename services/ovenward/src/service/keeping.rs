//! Once an hour is over: its readings sealed. Once a day is too old, or the store too large: the oldest dropped. Now and
//! then: what all of it takes.

use std::sync::Arc;
use std::time::{Duration, Instant};

use reading::Span;
use store::{Store, StoreError};
use tokio::sync::watch;
use web::StoreStatus;

use super::clock::PlantClock;
use super::figures::Figures;
use super::troubles::{Troubles, Work};
use crate::config::StoreSettings;

/// How often to look whether an hour or a day is over.
const LOOK: Duration = Duration::from_secs(10);

/// The store is measured again after so many times as long as it took: its hot readings are counted one by one.
const MEASURED_FOR: u32 = 100;

/// Seals hours and drops days.
pub(crate) struct KeepingLoop {
    pub(crate) settings: StoreSettings,
    pub(crate) store: Store,
    pub(crate) clock: PlantClock,
    pub(crate) troubles: Arc<Troubles>,
    pub(crate) figures: Arc<Figures>,
    pub(crate) kept: watch::Sender<StoreStatus>,
}

impl KeepingLoop {
    /// Runs until told to stop.
    pub(crate) async fn run(self, mut stop: watch::Receiver<bool>) {
        let mut measure = Instant::now();
        while !*stop.borrow_and_update() {
            tokio::task::block_in_place(|| {
                let began = Instant::now();
                if began >= measure {
                    if let Some(status) = self.troubles.note(Work::Measuring, self.measured()) {
                        if let Some(free) = status.free_bytes {
                            self.figures.set("ovenward_disk_free_bytes", free as f64);
                        }
                        self.kept.send_replace(status);
                    }
                    measure = Instant::now() + began.elapsed() * MEASURED_FOR;
                }
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

    fn measured(&self) -> Result<StoreStatus, StoreError> {
        let size = self.store.size()?;
        Ok(StoreStatus {
            readings: size.hot_readings + size.sealed_readings,
            oldest: self.store.span()?.map(|(oldest, _)| oldest.to_string()),
            hot_bytes: size.hot_bytes,
            segments: size.segments as u64,
            sealed_bytes: size.sealed_bytes,
            free_bytes: size.free_bytes,
            outbox: self.store.outbox_len()? as u64,
        })
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
