//! The service: what runs day and night, and how it begins and ends.
//!
//! It ends in the order in which a reading passes: no more deliveries, what came in is committed and
//! acknowledged, detection sees it, the outbox is emptied, the broker is told goodbye. A part that
//! fails on its own ends the whole in the same order, and says which part it was.

mod certificate;
mod clock;
mod decoder;
mod detection;
mod figures;
mod follow_ups;
mod host;
mod intake;
mod journal;
mod keeping;
mod lake;
mod links;
mod loads;
mod lost;
mod notices;
mod outbox;
mod pace;
mod parts;
mod recent;
mod recovery;
mod shifts;
mod sign_in;
mod speed_change;
mod sql;
mod topics;
mod troubles;
mod view;

use std::sync::Arc;
use std::time::Duration;

use anyhow::{Context, Result, anyhow};
use broker::{Intake, Publisher, Will};
use store::Store;
use tokio::net::TcpListener;
use tokio::sync::{Notify, watch};
use tokio::task::JoinHandle;

use crate::api::Api;
use crate::config::Settings;
use crate::edge_nodes;

pub use clock::PlantClock;
use clock::StepWatch;
use decoder::Decoder;
use detection::{Detection, Listeners};
use figures::Figures;
use host::HostLoop;
use intake::IntakeLoop;
use keeping::KeepingLoop;
use links::BrokerLink;
use lost::LossWatch;
use notices::Telling;
use outbox::OutboxLoop;
use parts::Parts;
pub(crate) use recent::Recent;
use shifts::ShiftLoop;
pub(crate) use sign_in::users_file;
use sql::SqlLoop;
use topics::status_payload;
pub(crate) use topics::{Topics, retained};
use troubles::Troubles;
pub(crate) use view::state_word;
use view::{Seen, Views};

/// Batches of readings between the store and detection.
const DETECTION_QUEUE: usize = 64;
/// How often to try again to open a store on a full disk.
const LOOK_FOR_ROOM: Duration = Duration::from_secs(2);
/// Everything has ended this long after the stop, or is left.
const DEADLINE: Duration = Duration::from_secs(4);

/// Opens the store; on a full disk tries until there is room.
async fn opened(settings: &Settings, plant: &reading::Plant) -> Result<Store> {
    let mut told = false;
    loop {
        match tokio::task::block_in_place(|| Store::open(&settings.data_dir, plant)) {
            Err(error) if error.is_disk_full() => {
                if !told {
                    tracing::error!("{error}; waiting for room to start, the broker keeps readings meanwhile");
                }
                told = true;
                tokio::time::sleep(LOOK_FOR_ROOM).await;
            }
            opened => return Ok(opened?),
        }
    }
}

/// Runs the service until `stop` is done.
///
/// # Errors
/// It could not start, a part of it failed, or something was left when the deadline passed.
pub async fn run(settings: Settings, clock: PlantClock, stop: impl Future<Output = ()>) -> Result<()> {
    let settings = Arc::new(settings);
    let plant = Arc::new(settings.plant.clone());
    let mut stop = std::pin::pin!(stop);
    let opened = tokio::select! {
        opened = opened(&settings, &plant) => Some(opened?),
        () = &mut stop => None,
    };
    let Some(store) = opened else { return Ok(()) };
    let topics = Topics::new(&settings.publish.root, &plant.site);
    let figures = Arc::new(Figures::default());
    let waiting = Arc::new(Notify::new());
    let (stopping, stopped) = watch::channel(false);
    let unconnected = BrokerLink::Disconnected { reason: "not connected yet".into(), since: clock.now() };
    let (link, link_seen) = watch::channel(unconnected);
    let (kept, kept_seen) = watch::channel(web::StoreStatus::default());
    let troubles = Arc::new(Troubles::default());

    let users = sign_in::users_file(&settings.data_dir);
    sign_in::check(&settings, &users)?;
    let listener = TcpListener::bind(settings.console.bind)
        .await
        .with_context(|| format!("cannot listen on {} for the status page", settings.console.bind))?;
    let certificate = settings.console.tls.clone().map(web::Certificate::read).transpose()?.map(Arc::new);
    let seen = Seen { figures: figures.clone(), link: link_seen, kept: kept_seen, troubles: troubles.clone() };
    let (views, status) = Views::new(settings.clone(), plant.clone(), store.clone(), clock, seen);
    let api = Api::new(settings.clone(), plant.clone(), store.clone(), views.recent(), clock);
    let sheet = views.shift_sheet();
    let listeners =
        Listeners { clock, figures: figures.clone(), waiting: waiting.clone(), troubles: troubles.clone(), views };
    let detection = Detection::resume(&settings, plant.clone(), store.clone(), listeners)?;
    let (to_detection, from_intake) = crossbeam_channel::bounded(DETECTION_QUEUE);
    let detection = tokio::task::spawn_blocking(move || detection.run(&from_intake));

    let will = Will { topic: topics.status(), payload: status_payload(false, clock.now(), &[]) };
    let (publisher, publishing) = Publisher::start(settings.broker.clone(), Some(will), &settings.publish.root)?;
    let outbox = OutboxLoop {
        store: store.clone(),
        publisher: publisher.clone(),
        topics: topics.clone(),
        figures: figures.clone(),
        waiting: waiting.clone(),
        troubles: troubles.clone(),
        online_since: clock.now(),
        published: Vec::new(),
    };
    // The outbox ends after detection, which may still have something to say.
    let (outbox_stopping, outbox_stopped) = watch::channel(false);
    let outbox = tokio::spawn(outbox.run(outbox_stopped));

    let nodes = edge_nodes::restored(&settings, &store)?;
    let mut topics_read = settings.topics_read();
    if settings.count_dropped {
        topics_read.push(lost::DROPPED.into());
    }
    let (host, host_calls) = match &settings.sparkplug.host {
        Some(id) => {
            topics_read.push(sparkplug::host::state_topic(id));
            let (host, calls, client) = HostLoop::start(id, &nodes, settings.broker.clone(), clock)?;
            (Some((tokio::spawn(host.run()), client)), Some(calls))
        }
        None => (None, None),
    };
    let Intake { events, acknowledger, stop: intake_stop, task: intake_task } =
        Intake::start(settings.broker.clone(), topics_read, clock.for_broker())?;
    let decoder = Decoder { plant: plant.clone(), nodes, figures: figures.clone(), clock, steps: StepWatch::default() };
    let intake = IntakeLoop {
        decoder,
        store: store.clone(),
        figures: figures.clone(),
        acknowledger,
        to_detection,
        link,
        troubles: troubles.clone(),
        losses: LossWatch::resume(store.clone(), troubles.clone())?,
        host: host_calls,
        certificates: settings.broker.certificate_ends(),
        clock,
        commit_every: settings.store.commit_every,
        stopped: stopped.clone(),
    };
    let intake = tokio::spawn(intake.run(events));
    let recovery = tokio::spawn(recovery::recover(store.clone(), troubles.clone(), stopped.clone()));
    let keeping = KeepingLoop {
        settings: settings.store,
        store: store.clone(),
        clock,
        troubles: troubles.clone(),
        figures: figures.clone(),
        kept,
    };
    let keeping = tokio::spawn(keeping.run(stopped.clone()));
    let looking_after = certificate::look_after(certificate.clone(), troubles.clone(), stopped.clone());
    let looking_after = tokio::spawn(looking_after);
    let telling = Telling { plant: plant.clone(), store: store.clone(), clock, figures: figures.clone() };
    let telling = notices::tell(settings.receivers.clone(), telling, troubles.clone(), stopped.clone());
    let telling = tokio::spawn(telling);
    let database = SqlLoop::new(&settings, &plant, &store, figures.clone(), troubles.clone());
    let database = tokio::spawn(SqlLoop::run(database, stopped.clone()));
    let copying = lake::copy(settings.clone(), store.clone(), clock, troubles.clone(), stopped.clone());
    let copying = tokio::spawn(copying);
    let shifts =
        ShiftLoop { settings, plant, store, topics: topics.clone(), waiting, figures: figures.clone(), troubles };
    let shifts = tokio::spawn(shifts.run(stopped.clone()));
    let metrics = figures.clone();
    let sources = web::Sources {
        status,
        metrics: Arc::new(move || metrics.render()),
        shift_sheet: sheet,
        users: Some(users),
        certificate,
        answers: Arc::new(api),
    };
    let web = tokio::spawn(web::serve(listener, sources, until_true(stopped)));

    let mut parts = Parts {
        detection,
        outbox,
        intake,
        host,
        shifts,
        database,
        keeping,
        recovery,
        looking_after,
        telling,
        copying,
        web,
        publishing,
        intake_task,
    };
    let failed = tokio::select! {
        () = &mut stop => None,
        failed = parts.first_to_end() => Some(failed),
    };
    tracing::info!("stopping");
    let orderly = async {
        stopping.send_replace(true);
        intake_stop.stop_deliveries();
        wait(&mut parts.intake).await;
        intake_stop.end();
        if let Some((host, _)) = &mut parts.host {
            wait(host).await;
        }
        wait(&mut parts.detection).await;
        outbox_stopping.send_replace(true);
        wait(&mut parts.outbox).await;
        // Best effort: the last will says the same if the broker does not hear it.
        let _ = publisher.publish(&topics.status(), status_payload(false, clock.now(), &[]), true).await;
        publisher.close().await;
        wait(&mut parts.shifts).await;
        wait(&mut parts.database).await;
        wait(&mut parts.keeping).await;
        wait(&mut parts.recovery).await;
        wait(&mut parts.looking_after).await;
        wait(&mut parts.telling).await;
        wait(&mut parts.copying).await;
        wait(&mut parts.web).await;
    };
    let in_time = tokio::time::timeout(DEADLINE, orderly).await.is_ok();
    match failed {
        Some(part) => Err(part),
        None if !in_time => Err(anyhow!("not everything had ended after {} s", DEADLINE.as_secs())),
        None => Ok(()),
    }
}

/// Waits for a part that may have ended before, and may have failed: that was told already.
async fn wait<T>(part: &mut JoinHandle<T>) {
    if !part.is_finished() {
        let _ = part.await;
    }
}

async fn until_true(mut flag: watch::Receiver<bool>) {
    // A sender that is gone means the same.
    let _ = flag.wait_for(|set| *set).await;
}
