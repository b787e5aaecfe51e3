//! Watches the whole plant: the one path by which live, replayed and simulated readings become alerts.

use std::collections::{HashMap, VecDeque};
use std::sync::Arc;

use normal_profile::Normal;
use reading::{LineIndex, Placed, Plant, Reading, Span, Timestamp, Window, WindowBuilder};

use crate::alert::Alert;
use crate::judgement::Judgement;
use crate::line_watch::{LineEvent, LineWatch, Load};
use crate::settings::DetectionSettings;

/// The approved normals, by line and product code.
pub type Normals = HashMap<(LineIndex, Arc<str>), Arc<Normal>>;

/// Closed windows are kept this long, to be looked at: a shift.
const KEPT: Span = Span::minutes(8 * 60);

/// What a reading has changed, and on which line.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// The line.
    pub line: LineIndex,
    /// What changed.
    pub what: LineEvent,
}

#[derive(Debug, Clone)]
struct Watched {
    builder: WindowBuilder,
    watch: LineWatch,
    /// The closed windows of the last hours, in order of time.
    closed: VecDeque<Arc<Window>>,
}

/// Watches the whole plant.
#[derive(Debug, Clone)]
pub struct Watch {
    plant: Arc<Plant>,
    normals: Normals,
    lines: Vec<Watched>,
    late: u64,
}

impl Watch {
    /// Begins with nothing known of the plant.
    #[must_use]
    pub fn new(plant: Arc<Plant>, normals: Normals, settings: DetectionSettings) -> Self {
        let lines = (0..plant.lines.len())
            .map(LineIndex)
            .map(|line| Watched {
                builder: WindowBuilder::new(plant.clone(), line, settings.window),
                watch: LineWatch::new(plant.clone(), line, settings),
                closed: VecDeque::new(),
            })
            .collect();
        Self { plant, normals, lines, late: 0 }
    }

    /// Takes one reading; readings come in the order in which they arrive.
    pub fn push(&mut self, reading: &Reading) -> Vec<Event> {
        let line = self.plant.signals.get(reading.signal).line;
        let watched = &mut self.lines[line.0];
        if watched.builder.push(reading) == Placed::Late {
            self.late += 1;
        }
        let mut events = Vec::new();
        while let Some(window) = self.lines[line.0].builder.next_closed() {
            self.observe(line, window, &mut events);
        }
        events
    }

    /// Closes the windows of a line from which nothing comes any more.
    pub fn fall_silent(&mut self, line: LineIndex) -> Vec<Event> {
        let mut events = self.close_all(line);
        let watched = &mut self.lines[line.0];
        if let Some(newest) = watched.builder.newest() {
            events.extend(watched.watch.lose_sight(newest).map(|what| Event { line, what }));
        }
        events
    }

    /// Closes every window: there are no more readings.
    pub fn finish(&mut self) -> Vec<Event> {
        (0..self.lines.len()).map(LineIndex).flat_map(|line| self.close_all(line)).collect()
    }

    /// Uses other normals from now on.
    pub fn replace_normals(&mut self, normals: Normals) {
        self.normals = normals;
    }

    /// Readings that came after their window had closed.
    #[must_use]
    pub fn late(&self) -> u64 {
        self.late
    }

    /// The newest closed window of a line.
    #[must_use]
    pub fn latest(&self, line: LineIndex) -> Option<&Window> {
        self.lines[line.0].closed.back().map(Arc::as_ref)
    }

    /// The closed windows of a line of the last eight hours, in order of time.
    #[must_use]
    pub fn windows(&self, line: LineIndex) -> &VecDeque<Arc<Window>> {
        &self.lines[line.0].closed
    }

    /// The load of a line.
    #[must_use]
    pub fn load(&self, line: LineIndex) -> Load {
        self.lines[line.0].watch.load()
    }

    /// How the newest rise of a line was judged, window by window.
    #[must_use]
    pub fn judgements(&self, line: LineIndex) -> &[Judgement] {
        self.lines[line.0].watch.judgements()
    }

    /// The alerts that stand on a line.
    pub fn standing(&self, line: LineIndex) -> impl Iterator<Item = &Alert> {
        self.lines[line.0].watch.standing()
    }

    /// The normal of a product on a line, if one is approved.
    #[must_use]
    pub fn normal(&self, line: LineIndex, product: &Arc<str>) -> Option<&Arc<Normal>> {
        self.normals.get(&(line, product.clone()))
    }

    /// The time of the newest reading of a line.
    #[must_use]
    pub fn newest(&self, line: LineIndex) -> Option<Timestamp> {
        self.lines[line.0].builder.newest()
    }

    fn close_all(&mut self, line: LineIndex) -> Vec<Event> {
        let mut events = Vec::new();
        while let Some(window) = self.lines[line.0].builder.close_next() {
            self.observe(line, window, &mut events);
        }
        events
    }

    fn observe(&mut self, line: LineIndex, window: Window, events: &mut Vec<Event>) {
        let normal = window.product.clone().and_then(|product| self.normals.get(&(line, product))).cloned();
        let watched = &mut self.lines[line.0];
        let changes = watched.watch.observe(&window, normal.as_deref());
        let forgotten = window.starts - KEPT;
        watched.closed.push_back(Arc::new(window));
        while watched.closed.front().is_some_and(|oldest| oldest.starts < forgotten) {
            watched.closed.pop_front();
        }
        events.extend(changes.into_iter().map(|what| Event { line, what }));
    }
}
