//! Listens until told to stop.

use std::fmt;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use tokio::net::TcpListener;
use tokio::sync::{Semaphore, watch};
use tokio::time::sleep;

use crate::api::Answers;
use crate::certificate::Certificate;
use crate::live::News;
use crate::sign_in::Desk;
use crate::status::PlantStatus;
use crate::{connections, console, live, routes};

/// What is left to clients that are in the middle of something once the service stops.
const GRACE: Duration = Duration::from_millis(800);

/// Questions that the program is asked at once. Each may read the store for seconds.
const QUESTIONS: usize = 2;

/// Writes the metrics as they are now, in the text format of OpenMetrics.
pub type Metrics = dyn Fn() -> String + Send + Sync;

/// Makes the sheet of a shift (line, date as `YYYY-MM-DD`, shift) as a page that needs nothing else; none if there
/// is none.
pub type ShiftSheet = dyn Fn(&str, &str, &str) -> Option<String> + Send + Sync;

/// Where the answers come from.
#[derive(Clone)]
pub struct Sources {
    /// The newest status.
    pub status: watch::Receiver<Arc<PlantStatus>>,
    /// The metrics; must not block.
    pub metrics: Arc<Metrics>,
    /// The shift sheets. May block: it is called on a thread of its own.
    pub shift_sheet: Arc<ShiftSheet>,
    /// The file of users; without one, only this machine can ask, and nobody signs in.
    pub users: Option<PathBuf>,
    /// The certificate with which TLS is spoken; plain HTTP without one.
    pub certificate: Option<Arc<Certificate>>,
    /// What the API asks.
    pub answers: Arc<dyn Answers>,
}

impl fmt::Debug for Sources {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.debug_struct("Sources").field("status", &self.status).finish_non_exhaustive()
    }
}

/// What every route can reach.
#[derive(Clone)]
pub(crate) struct App {
    pub(crate) sources: Sources,
    pub(crate) stopping: watch::Receiver<bool>,
    /// Lets so many questions to the program pass at once.
    pub(crate) gate: Arc<Semaphore>,
    /// The same for questions that may take long.
    pub(crate) gate_at_length: Arc<Semaphore>,
    /// What there is to tell.
    pub(crate) news: watch::Receiver<News>,
    /// Lets people in.
    pub(crate) desk: Arc<Desk>,
}

impl App {
    /// The newest status.
    pub(crate) fn status(&self) -> Arc<PlantStatus> {
        Arc::clone(&self.sources.status.borrow())
    }
}

/// Answers on `listener` until `stop` completes, then lets requests finish and ends within 1 s, whatever
/// clients do. Bound to loopback, it answers only to a loopback host name.
///
/// # Errors
/// What the listener reports of its own address, or a certificate that TLS cannot use.
pub async fn serve(
    listener: TcpListener,
    sources: Sources,
    stop: impl Future<Output = ()> + Send + 'static,
) -> io::Result<()> {
    let bound = listener.local_addr()?;
    console::say_if_left_out();
    let (announce, mut stopping) = watch::channel(false);
    let (news, newest) = watch::channel(News::default());
    let desk = Arc::new(Desk::new(sources.users.clone(), bound.ip().is_loopback()));
    let gate = Arc::new(Semaphore::new(QUESTIONS));
    let gate_at_length = Arc::new(Semaphore::new(1));
    let app = App { sources, stopping: stopping.clone(), gate, gate_at_length, news: newest, desk };
    let tls = app.sources.certificate.clone().map(Certificate::acceptor).transpose().map_err(io::Error::other)?;
    let writing = live::write_news(app.clone(), news, stopping.clone());
    let serving = connections::serve(listener, routes::router(app, bound), tls, stopping.clone());
    let announcing = async {
        stop.await;
        announce.send_replace(true);
    };
    let deadline = async {
        // An error means that the announcement is over, which comes to the same.
        let _ = stopping.wait_for(|stopping| *stopping).await;
        sleep(GRACE).await;
    };
    tokio::select! {
        _ = async { tokio::join!(serving, writing, announcing) } => {}
        () = deadline => tracing::warn!("clients held their connections open; they are cut off"),
    }
    Ok(())
}
