//! Detection, live: new readings through [`alert::Watch`], its alerts into the store and the outbox.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant, SystemTime};

use alert::{Alert, Event, LineEvent, Watch};
use anyhow::Result;
use crossbeam_channel::{Receiver, RecvTimeoutError};
use reading::{LineIndex, Plant, Reading, Span, Timestamp};
use store::Store;
use tokio::sync::Notify;

use super::clock::PlantClock;
use super::figures::Figures;
use super::journal::{Entry, Journal};
use super::loads::Loads;
use super::topics::Topics;
use super::troubles::{Troubles, Work};
use super::view::Views;
use crate::alert_desk::AlertDesk;
use crate::config::Settings;
use crate::normal_files::NormalFiles;
use crate::stored::LEAD;

/// A line of which nothing is heard for this long is no longer waited for.
const SILENCE: Duration = Duration::from_secs(60);
/// What people did is looked for, and the status page is brought up to date, at most this often.
const SHOW_EVERY: Duration = Duration::from_millis(500);
/// New normals are looked for, and the position is noted, this often.
const HOUSEKEEPING: Duration = Duration::from_secs(5);
/// Up to where each line has been judged, in the store.
const JUDGED: &str = "detection/judged";
/// A line has been judged up to this long before its newest reading: a window and its lateness.
const BEHIND: Span = Span::minutes(2);

/// The live end of detection.
pub(crate) struct Detection {
    plant: Arc<Plant>,
    store: Store,
    watch: Watch,
    normals: NormalFiles,
    normals_changed: Option<SystemTime>,
    desk: AlertDesk,
    loads: Loads,
    clock: PlantClock,
    figures: Arc<Figures>,
    journal: Journal,
    troubles: Arc<Troubles>,
    views: Views,
    heard: Vec<Instant>,
    silent: Vec<bool>,
    late_counted: u64,
}

/// Whom detection tells.
pub(crate) struct Listeners {
    pub(crate) clock: PlantClock,
    pub(crate) figures: Arc<Figures>,
    pub(crate) waiting: Arc<Notify>,
    pub(crate) troubles: Arc<Troubles>,
    pub(crate) views: Views,
}

impl Detection {
    /// Reads the last hours from the store, so that a restart forgets nothing and raises nothing
    /// twice: alerts have the same id whenever the same readings raise them.
    pub(crate) fn resume(settings: &Settings, plant: Arc<Plant>, store: Store, listeners: Listeners) -> Result<Self> {
        let normals = NormalFiles::new(&settings.data_dir);
        let lines = plant.lines.len();
        let desk = AlertDesk::new(settings, plant.clone(), store.clone());
        let Listeners { clock, figures, waiting, troubles, views } = listeners;
        let mut detection = Self {
            watch: Watch::new(plant.clone(), normals.approved(&plant)?, settings.detection),
            normals_changed: normals.changed(),
            normals,
            loads: Loads::new(plant.clone(), store.clone(), Topics::new(&settings.publish.root, &plant.site)),
            plant,
            journal: Journal::new(store.clone(), desk.clone(), clock, waiting, troubles.clone()),
            desk,
            store,
            clock,
            figures,
            troubles,
            views,
            heard: vec![Instant::now(); lines],
            silent: vec![false; lines],
            late_counted: 0,
        };
        if let Some((_, newest)) = detection.store.span()? {
            detection.warm_up(newest)?;
        }
        detection.look_at_answers();
        detection.views.show(&detection.watch);
        Ok(detection)
    }

    fn warm_up(&mut self, newest: Timestamp) -> Result<()> {
        let standing = self.store.standing_alerts()?;
        let earliest = standing.iter().map(|alert| alert.began).fold(newest, Timestamp::min);
        let from = earliest - LEAD - LEAD;
        let mut events = Vec::new();
        for stretch in self.store.readings(None, from, Timestamp(newest.0 + 1)) {
            let stretch = stretch?;
            self.views.hear(&stretch);
            events.extend(stretch.iter().flat_map(|reading| self.watch.push(reading)));
        }
        let judged = self.judged()?;
        for event in events {
            match event.what {
                // What was judged before the restart, by the normals of then, is not judged again.
                LineEvent::Raised(alert) if judged.get(&*alert.line).is_none_or(|judged| alert.raised > *judged) => {
                    self.journal.enter(Entry::Raised(alert));
                }
                LineEvent::Ended(alert) => self.journal.enter(ended(&alert)),
                LineEvent::Raised(_) | LineEvent::Load(_) => {}
            }
        }
        self.end_what_no_longer_stands(newest)
    }

    /// An alert that stands in the store and not in detection (another normal was approved, a line
    /// was taken out of the config) would stand for ever.
    fn end_what_no_longer_stands(&mut self, at: Timestamp) -> Result<()> {
        let standing = self.lines().flat_map(|line| self.watch.standing(line));
        let live: Vec<String> = standing.map(|alert| alert.id.clone()).collect();
        for record in self.store.standing_alerts()?.into_iter().filter(|record| !live.contains(&record.id)) {
            self.journal.enter(Entry::Ended { id: record.id, at, what: "ended: not found again after a restart" });
        }
        Ok(())
    }

    fn judged(&self) -> Result<BTreeMap<String, Timestamp>> {
        let noted = self.store.meta(JUDGED)?;
        Ok(noted.map(|json| serde_json::from_str(&json)).transpose()?.unwrap_or_default())
    }

    fn lines(&self) -> impl Iterator<Item = LineIndex> + use<> {
        (0..self.plant.lines.len()).map(LineIndex)
    }

    /// Runs until nothing more comes in.
    pub(crate) fn run(mut self, readings: &Receiver<Vec<Reading>>) -> Result<()> {
        let (mut shown, mut kept) = (Instant::now(), Instant::now());
        loop {
            match readings.recv_timeout(SHOW_EVERY) {
                Ok(group) => self.take(&group),
                Err(RecvTimeoutError::Timeout) => self.look_for_silence(),
                Err(RecvTimeoutError::Disconnected) => break,
            }
            if shown.elapsed() >= SHOW_EVERY {
                self.look_at_answers();
                self.views.show(&self.watch);
                shown = Instant::now();
            }
            if kept.elapsed() >= HOUSEKEEPING {
                self.keep_house()?;
                kept = Instant::now();
            }
        }
        self.keep_house()
    }

    fn take(&mut self, group: &[Reading]) {
        self.views.hear(group);
        for reading in group {
            let line = self.plant.signals.get(reading.signal).line;
            self.heard[line.0] = Instant::now();
            self.silent[line.0] = false;
            let events = self.watch.push(reading);
            self.tell(events);
        }
    }

    fn look_for_silence(&mut self) {
        for line in self.lines() {
            if !self.silent[line.0] && self.heard[line.0].elapsed() >= SILENCE {
                self.silent[line.0] = true;
                let events = self.watch.fall_silent(line);
                self.tell(events);
            }
        }
    }

    fn keep_house(&mut self) -> Result<()> {
        let late = self.watch.late();
        self.figures.count("ovenward_readings_late_total", late - self.late_counted);
        self.late_counted = late;
        let newest = self.lines().filter_map(|line| Some((line, self.watch.newest(line)?)));
        let judged: BTreeMap<&str, Timestamp> =
            newest.map(|(line, newest)| (&*self.plant.lines[line.0].id, newest - BEHIND)).collect();
        let judged = serde_json::to_string(&judged)?;
        self.journal.settle();
        if self.journal.is_settled() {
            self.journal.enter(Entry::Note(JUDGED, judged));
        }
        let changed = self.normals.changed();
        if changed != self.normals_changed
            && let Some(normals) = self.troubles.note(Work::ReadingNormals, self.normals.approved(&self.plant))
        {
            self.watch.replace_normals(normals);
            self.normals_changed = changed;
            tracing::info!("the approved normals were read again");
        }
        Ok(())
    }

    fn tell(&mut self, events: Vec<Event>) {
        for event in events {
            match event.what {
                LineEvent::Raised(alert) => {
                    self.figures.count("ovenward_alerts_raised_total", 1);
                    tracing::warn!(line = %alert.line, finding = alert.finding.name(), id = alert.id, "{}", alert.message);
                    self.journal.enter(Entry::Raised(alert));
                }
                LineEvent::Ended(alert) => {
                    tracing::info!(line = %alert.line, finding = alert.finding.name(), id = alert.id, "the alert has ended");
                    self.journal.enter(ended(&alert));
                }
                LineEvent::Load(_) => self.look_at_answers(),
            }
        }
    }

    /// What people did from another process, shelves whose time is over, and what both mean for the loads.
    fn look_at_answers(&mut self) {
        let released = self.tell_loads().and_then(|()| self.desk.release_what_is_over(self.clock.now()));
        for alert in self.troubles.note(Work::Answers, released).unwrap_or_default() {
            tracing::warn!(line = %alert.line, id = alert.id, "no longer shelved, and it stands: {}", alert.message);
        }
    }

    fn tell_loads(&mut self) -> Result<()> {
        let news = self.loads.news(&self.watch)?;
        if !news.is_empty() {
            self.journal.enter(Entry::Messages(news));
        }
        Ok(())
    }
}

fn ended(alert: &Alert) -> Entry {
    Entry::Ended { id: alert.id.clone(), at: alert.ended.unwrap_or(alert.raised), what: "ended" }
}
