//! Days that are over, to the lake of all plants. Nothing waits for it: the store is the queue.

use std::sync::Arc;

use anyhow::{Result, bail};
use store::Store;
use tokio::sync::watch;
use tokio::time::sleep;

use super::clock::PlantClock;
use super::troubles::{Troubles, Work};
use super::until_true;
use crate::config::Settings;
use crate::lake_copy::LakeCopy;

/// Copies until the service stops. A stop ends it wherever it is: what is not published is done again the next time.
pub(super) async fn copy(
    settings: Arc<Settings>,
    store: Store,
    clock: PlantClock,
    troubles: Arc<Troubles>,
    stopped: watch::Receiver<bool>,
) {
    let Some(every) = settings.lake.as_ref().map(|lake| lake.every) else { return until_true(stopped).await };
    while !*stopped.borrow() {
        let round = async {
            troubles.note(Work::Lake, push(&settings, &store, clock).await);
            sleep(every).await;
        };
        tokio::select! {
            () = round => {}
            () = until_true(stopped.clone()) => {}
        }
    }
}

/// The lake is opened each time, so that a key that was renewed is read again.
async fn push(settings: &Arc<Settings>, store: &Store, clock: PlantClock) -> Result<()> {
    let Some(lake) = LakeCopy::open(settings, store)? else { return Ok(()) };
    lake.claim(false).await?;
    let held = lake.push_all(clock.now()).await?;
    if !held.is_empty() {
        bail!("{}", held.join("; "));
    }
    Ok(())
}
