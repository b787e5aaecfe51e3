//! Live updates as server-sent events.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::State;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::stream::{self, Stream};
use tokio::sync::watch;
use tokio::time::sleep;

use crate::serve::App;
use crate::status::PlantStatus;

/// The least time between two events: people cannot read faster.
const PACE: Duration = Duration::from_secs(1);
/// A comment this often shows that the connection still stands.
const KEEP_ALIVE: Duration = Duration::from_secs(15);

/// One listener.
struct Listener {
    status: watch::Receiver<Arc<PlantStatus>>,
    stopping: watch::Receiver<bool>,
    began: bool,
}

/// Sends the status as it is, then again whenever it has changed, until the service stops.
pub(crate) async fn live(State(app): State<App>) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let listener = Listener { status: app.sources.status, stopping: app.stopping, began: false };
    let events = stream::unfold(listener, |mut listener| async move {
        let event = listener.next().await?;
        Some((Ok(event), listener))
    });
    Sse::new(events).keep_alive(KeepAlive::new().interval(KEEP_ALIVE))
}

impl Listener {
    /// The next event, or none once the service stops or nobody tells the status any more.
    async fn next(&mut self) -> Option<Event> {
        let changed = async {
            if self.began {
                sleep(PACE).await;
                self.status.changed().await.ok()?;
            }
            Some(())
        };
        tokio::select! {
            biased;
            _ = self.stopping.wait_for(|stopping| *stopping) => return None,
            changed = changed => changed?,
        }
        self.began = true;
        let status = Arc::clone(&self.status.borrow_and_update());
        // A status of plain numbers, strings and lists can always be written as JSON.
        Event::default().event("status").json_data(&*status).ok()
    }
}
