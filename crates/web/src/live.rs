//! Live updates as server-sent events: the status as it changes, and every change of an alert.
//!
//! One task writes each event once, whoever listens; a listener only hands out what was written. It keeps no queue:
//! who is slow misses states of the plant in between, never a change of an alert, since those are read again from the
//! store. `Last-Event-ID` is the number of the last change that was told: a browser sends it when it comes back.

use std::collections::VecDeque;
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use serde::Serialize;
use tokio::sync::watch;
use tokio::time::{sleep, timeout};

use crate::api::{NumberedAlert, ask};
use crate::problem::Problem;
use crate::serve::App;

/// The least time between two events: people cannot read faster.
const PACE: Duration = Duration::from_secs(1);
/// A comment this often shows that the connection still stands.
const KEEP_ALIVE: Duration = Duration::from_secs(15);
/// The newest changes of alerts kept ready; who is further behind is told from the store.
const READY: usize = 256;
/// The name of a header of server-sent events.
const LAST_EVENT_ID: &str = "last-event-id";

/// What there is to tell, written out.
#[derive(Debug, Clone, Default)]
pub(crate) struct News {
    status: Bytes,
    /// The newest changes of alerts with their numbers, in order.
    changes: VecDeque<(i64, Bytes)>,
    /// The number of the newest change of an alert.
    newest: i64,
    /// Whether the status has been written yet.
    begun: bool,
}

/// Writes down what there is to tell, each time the status has changed, until the service stops.
pub(crate) async fn write_news(app: App, news: watch::Sender<News>, mut stopping: watch::Receiver<bool>) {
    let mut status = app.sources.status.clone();
    // What was changed before now is told to those who come back, from the store.
    let newest = ask(&app, |answers| answers.newest_alert_change()).await.unwrap_or_default();
    news.send_modify(|news| news.newest = newest);
    loop {
        let present = Arc::clone(&status.borrow_and_update());
        let known = news.borrow().newest;
        let changes = ask(&app, move |answers| answers.alert_changes(known)).await.unwrap_or_default();
        news.send_modify(|news| {
            for NumberedAlert { number, alert } in &changes {
                news.newest = news.newest.max(*number);
                news.changes.push_back((*number, event("alert", *number, alert)));
            }
            while news.changes.len() > READY {
                news.changes.pop_front();
            }
            news.status = event("status", news.newest, &*present);
            news.begun = true;
        });
        let changed = async {
            sleep(PACE).await;
            status.changed().await.is_err()
        };
        tokio::select! {
            _ = stopping.wait_for(|stopping| *stopping) => return,
            over = changed => if over { return },
        }
    }
}

/// An event as it goes over the wire.
fn event(name: &str, id: i64, data: &impl Serialize) -> Bytes {
    // What is told are plain numbers, strings and lists: they can always be written as JSON, on one line.
    let data = serde_json::to_string(data).unwrap_or_default();
    Bytes::from(format!("event: {name}\nid: {id}\ndata: {data}\n\n"))
}

/// One listener.
struct Listener {
    app: App,
    news: watch::Receiver<News>,
    stopping: watch::Receiver<bool>,
    /// The number of the last change that was told; none before the first event.
    told: Option<i64>,
    ready: VecDeque<Bytes>,
    began: bool,
}

/// The status as it is and as it changes, and every change of an alert, as server-sent events `status` and `alert`:
/// their data are PlantStatus and Alert. A client that comes back with `Last-Event-ID` is told what it missed.
#[utoipa::path(get, path = "/api/v1/live", tag = "plant",
    params(("Last-Event-ID" = Option<i64>, Header, description = "Id of the last event that was received")),
    responses((status = 200, content_type = "text/event-stream", body = String), crate::api::WrongRequest))]
pub(crate) async fn live(State(app): State<App>, headers: HeaderMap) -> Result<Response, Problem> {
    let told = headers.get(LAST_EVENT_ID).map(|id| id.to_str().ok().and_then(|id| id.parse::<i64>().ok()));
    if told.is_some_and(|told| told.is_none_or(|told| told < 0)) {
        return Err(crate::api::wrong(
            "Last-Event-ID is no number of an event. Send the id of the last event, or none.",
        ));
    }
    let (news, stopping) = (app.news.clone(), app.stopping.clone());
    let ready = VecDeque::new();
    let listener = Listener { app, news, stopping, told: told.flatten(), ready, began: false };
    let events = stream::unfold(listener, |mut listener| async move {
        let event = listener.next().await?;
        Some((Ok::<_, Infallible>(event), listener))
    });
    let headers = [(header::CONTENT_TYPE, "text/event-stream"), (header::CACHE_CONTROL, "no-store")];
    Ok((headers, Body::from_stream(events)).into_response())
}

impl Listener {
    /// The next event, or none once the service stops or nobody tells the status any more.
    async fn next(&mut self) -> Option<Bytes> {
        while self.ready.is_empty() {
            let mut stopping = self.stopping.clone();
            let waited = tokio::select! {
                biased;
                _ = stopping.wait_for(|stopping| *stopping) => return None,
                waited = timeout(KEEP_ALIVE, self.wait()) => waited,
            };
            match waited {
                Ok(waited) => {
                    waited?;
                    self.fill().await?;
                }
                Err(_) => self.ready.push_back(Bytes::from_static(b": still here\n\n")),
            }
        }
        self.ready.pop_front()
    }

    /// Waits for something to tell.
    async fn wait(&mut self) -> Option<()> {
        if self.began {
            self.news.changed().await.ok()
        } else {
            self.news.wait_for(|news| news.begun).await.ok().map(|_| ())
        }
    }

    /// Puts what there is to tell in order: changes of alerts first, then the status that they led to.
    async fn fill(&mut self) -> Option<()> {
        let news = self.news.borrow_and_update().clone();
        let told = self.told.unwrap_or(news.newest);
        let oldest = news.changes.front().map_or(i64::MAX, |(number, _)| *number);
        if told < news.newest && told + 1 < oldest {
            let missed = ask(&self.app, move |answers| answers.alert_changes(told)).await.ok()?;
            self.ready.extend(missed.iter().map(|it| event("alert", it.number, &it.alert)));
            self.told = missed.last().map(|it| it.number);
        } else {
            let new = news.changes.iter().filter(|(number, _)| *number > told);
            self.ready.extend(new.map(|(_, event)| event.clone()));
            self.told = Some(news.newest);
        }
        self.ready.push_back(news.status);
        self.began = true;
        Some(())
    }
}
