//! From the changes of alerts to the people who are told of them.
//!
//! Each receiver has a loop of its own, so that one that hangs delays no other: it reads what has happened to alerts
//! since its last look, lets its rule decide, stores what is to be told together with how far it looked, and sends what
//! is due. A notice stays in the store until the receiver took it: a kill at any moment loses none, and may send one
//! twice, under the same id. Detection and intake know nothing of all this.

mod decided;
mod faults;

use std::sync::Arc;
use std::time::Duration;

use anyhow::Result;
use notice::{Event, Notice, Receiver, SendError, letters, pause_after};
use reading::Plant;
use store::{AlertRecord, Store, WaitingNotice};
use tokio::sync::watch;
use tokio::task::JoinSet;
use tokio::time::sleep;

use super::clock::PlantClock;
use super::figures::Figures;
use super::troubles::Troubles;
use super::until_true;
use decided::{decided, event, read};
use faults::Faults;

/// How often it is looked whether there is something to tell.
const LOOK: Duration = Duration::from_secs(1);
/// Steps decided on in one transaction.
const STEPS: usize = 200;

/// What telling people needs of the service.
#[derive(Clone)]
pub(super) struct Telling {
    pub(super) plant: Arc<Plant>,
    pub(super) store: Store,
    pub(super) clock: PlantClock,
    pub(super) figures: Arc<Figures>,
}

/// Tells every receiver until the service stops.
pub(super) async fn tell(
    receivers: Vec<Receiver>,
    telling: Telling,
    troubles: Arc<Troubles>,
    stopped: watch::Receiver<bool>,
) {
    let faults = Arc::new(Faults::new(troubles));
    tokio::select! {
        () = name(&receivers, &telling.store, &faults) => {}
        () = until_true(stopped.clone()) => return,
    }
    let mut loops = JoinSet::new();
    for receiver in receivers {
        let receiver_loop =
            ReceiverLoop { receiver, telling: telling.clone(), faults: faults.clone(), taken: Vec::new() };
        loops.spawn(receiver_loop.run(stopped.clone()));
    }
    while let Some(ended) = loops.join_next().await {
        if let Err(panic) = ended.map_err(tokio::task::JoinError::into_panic) {
            std::panic::resume_unwind(panic);
        }
    }
    until_true(stopped).await;
}

/// Takes note of who is to be told, as soon as the store can be written.
async fn name(receivers: &[Receiver], store: &Store, faults: &Faults) {
    let names: Vec<&str> = receivers.iter().map(|receiver| receiver.name.as_str()).collect();
    loop {
        let attempt = tokio::task::block_in_place(|| store.keep_receivers(&names));
        let done = attempt.is_ok();
        faults.set("everybody", attempt.err().map(|error| error.to_string()));
        if done {
            return;
        }
        sleep(LOOK).await;
    }
}

/// Tells one receiver.
struct ReceiverLoop {
    receiver: Receiver,
    telling: Telling,
    faults: Arc<Faults>,
    /// What the receiver took and the store could not yet be told of.
    taken: Vec<String>,
}

impl ReceiverLoop {
    async fn run(mut self, stopped: watch::Receiver<bool>) {
        loop {
            // What is under way when the service stops is sent again: nobody waits for a receiver that hangs.
            let round = tokio::select! {
                round = self.round() => round,
                () = until_true(stopped.clone()) => return,
            };
            if let Err(error) = round {
                self.faults.set(&self.receiver.name, Some(format!("{error:#}")));
            }
            tokio::select! {
                () = sleep(LOOK) => {}
                () = until_true(stopped.clone()) => return,
            }
        }
    }

    async fn round(&mut self) -> Result<()> {
        let due = tokio::task::block_in_place(|| {
            self.note_taken()?;
            while self.decide()? == STEPS {}
            self.due()
        })?;
        for letter in letters(&self.receiver.channel, due) {
            let now = self.telling.clock.now();
            // Receivers judge signatures by the clock on the wall, also where the plant's runs faster.
            let sent = PlantClock::Machine.now().0 / 1_000_000;
            let attempt = self.receiver.channel.send(&letter, &self.telling.plant, now, sent).await;
            let away = matches!(attempt, Err(SendError::Away(_)));
            tokio::task::block_in_place(|| self.note(&letter, attempt))?;
            if away {
                break;
            }
        }
        Ok(())
    }

    /// Takes note of how an attempt ended.
    fn note(&mut self, letter: &[Notice], attempt: Result<(), SendError>) -> Result<()> {
        let (name, ids) = (self.receiver.name.as_str(), letter.iter().map(|notice| notice.id.as_str()));
        let result = match &attempt {
            Ok(()) => "taken",
            Err(SendError::Away(_)) => "failed",
            Err(SendError::Refused(_)) => "refused",
        };
        self.telling.figures.count_notices(result, letter.len() as u64);
        match attempt {
            Ok(()) => self.faults.set(name, None),
            Err(SendError::Refused(reason)) => {
                let ids = ids.clone().collect::<Vec<_>>().join(", ");
                tracing::error!(receiver = name, notices = ids, "given up, for it was refused: {reason}");
                self.faults.set(name, Some(format!("it refused {ids}, which was given up: {reason}")));
            }
            Err(SendError::Away(reason)) => {
                self.faults.set(name, Some(reason));
                let failed = letter.iter().map(|notice| notice.attempts).max().unwrap_or_default() + 1;
                let next_attempt = self.telling.clock.now() + pause_after(failed);
                return Ok(self.telling.store.postpone_notices(name, &ids.collect::<Vec<_>>(), next_attempt)?);
            }
        }
        self.taken.extend(ids.map(str::to_owned));
        self.note_taken()
    }

    /// Nothing is sent before the store knows what was: on a full disk it would go out every second.
    fn note_taken(&mut self) -> Result<()> {
        if !self.taken.is_empty() {
            let ids: Vec<&str> = self.taken.iter().map(String::as_str).collect();
            self.telling.store.notices_told(&self.receiver.name, &ids, Event::Ended.name())?;
            self.taken.clear();
        }
        self.telling.figures.set("ovenward_notices_waiting", self.telling.store.notices_waiting()? as f64);
        Ok(())
    }

    /// Decides on what has happened since the last look; gives the number of steps.
    fn decide(&self) -> Result<usize> {
        let Telling { plant, store, clock, .. } = &self.telling;
        let (rule, now) = (&self.receiver.rule, clock.now());
        store.decide_notices(&self.receiver.name, STEPS, |steps, known| decided(rule, steps, known, now, &plant.shifts))
    }

    fn due(&self) -> Result<Vec<Notice>> {
        let due = self.telling.store.due_notices(&self.receiver.name, self.telling.clock.now())?;
        let notice = |(waiting, alert): (WaitingNotice, AlertRecord)| {
            let (event, alert) = (event(&waiting.event)?, read(&alert)?);
            Ok(Notice { id: waiting.id, event, due: waiting.due, attempts: waiting.attempts, alert })
        };
        due.into_iter().map(notice).collect()
    }
}
