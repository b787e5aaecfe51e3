//! After an I/O error the store writes nothing until the disk can be trusted again: that is tried here, for all parts.

use std::sync::Arc;
use std::time::Duration;

use store::Store;
use tokio::sync::watch;

use super::troubles::{Troubles, Work};

/// How often.
const LOOK: Duration = Duration::from_secs(1);

/// Tries to make a store that refuses write again; runs until told to stop.
pub(crate) async fn recover(store: Store, troubles: Arc<Troubles>, mut stop: watch::Receiver<bool>) {
    while !*stop.borrow_and_update() {
        if store.refuses() {
            troubles.note(Work::Recovering, tokio::task::block_in_place(|| store.recover()));
        }
        tokio::select! {
            () = tokio::time::sleep(LOOK) => {}
            _ = stop.changed() => {}
        }
    }
}
