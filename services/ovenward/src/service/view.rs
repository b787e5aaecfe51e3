//! What the status page shows, put together from detection, store and broker.

use std::sync::Arc;

use alert::{LoadState, Watch};
use normal_profile::Band;
use physics::air;
use reading::{LineIndex, Plant, Reading, RunningState, Window, ZoneWindow};
use store::{AlertQuery, Store, SuppressionRecord};
use tokio::sync::watch;
use web::{
    BrokerStatus, LineStatus, PlantStatus, RejectedCount, ShiftLink, StoreStatus, SuppressionStatus, ZoneStatus,
};

use super::clock::PlantClock;
use super::figures::Figures;
use super::links::BrokerLink;
use super::recent::Recent;
use super::speed_change::last_change;
use super::troubles::Troubles;
use crate::config::Settings;
use crate::normal_files::NormalFiles;
use crate::stored;

/// Alerts shown, standing and past.
const ALERTS_SHOWN: usize = 20;
/// Finished and running shifts linked to.
const SHIFTS_SHOWN: usize = 4;

/// Makes what the status page shows.
pub(crate) struct Views {
    settings: Arc<Settings>,
    plant: Arc<Plant>,
    store: Store,
    clock: PlantClock,
    seen: Seen,
    recent: Arc<Recent>,
    shown: watch::Sender<Arc<PlantStatus>>,
}

/// What the parts of the service tell of themselves.
pub(crate) struct Seen {
    pub(crate) figures: Arc<Figures>,
    pub(crate) link: watch::Receiver<BrokerLink>,
    pub(crate) kept: watch::Receiver<StoreStatus>,
    pub(crate) troubles: Arc<Troubles>,
}

/// Gives the sheet of a shift as HTML, by line, date and shift name.
type ShiftSheet = Arc<dyn Fn(&str, &str, &str) -> Option<String> + Send + Sync>;

impl Views {
    pub(crate) fn new(
        settings: Arc<Settings>,
        plant: Arc<Plant>,
        store: Store,
        clock: PlantClock,
        seen: Seen,
    ) -> (Self, watch::Receiver<Arc<PlantStatus>>) {
        let (shown, status) = watch::channel(Arc::new(PlantStatus::default()));
        let recent = Arc::new(Recent::new(&plant));
        (Self { settings, plant, store, clock, seen, recent, shown }, status)
    }

    /// Shows the plant as detection sees it now.
    pub(crate) fn show(&self, watch: &Watch) {
        self.recent.see(watch);
        self.shown.send_replace(Arc::new(self.status(watch)));
    }

    /// What was heard of late.
    pub(crate) fn recent(&self) -> Arc<Recent> {
        self.recent.clone()
    }

    /// Keeps in mind what was heard last of each signal.
    pub(crate) fn hear(&self, readings: &[Reading]) {
        self.recent.hear(readings);
    }

    /// What makes the sheet of a shift.
    pub(crate) fn shift_sheet(&self) -> ShiftSheet {
        let (settings, plant, store) = (self.settings.clone(), self.plant.clone(), self.store.clone());
        Arc::new(move |line, date, name| {
            let (line, _) = plant.line(line)?;
            let shift = plant.shifts.on(date.parse().ok()?).into_iter().find(|shift| &*shift.name == name)?;
            let normals = NormalFiles::new(&settings.data_dir);
            let rows = stored::shift_table(&store, &normals, &plant, line, &shift, &settings.detection);
            let rows = rows.inspect_err(|error| tracing::error!("no shift table: {error:#}")).ok()?;
            let mut html = Vec::new();
            shift_profile::write_html(&rows, &mut html).ok()?;
            String::from_utf8(html).ok()
        })
    }

    fn status(&self, watch: &Watch) -> PlantStatus {
        let link = self.seen.link.borrow().clone();
        let ready = !self.seen.troubles.hinder() && matches!(link, BrokerLink::Connected { .. });
        let mut problems = self.seen.troubles.sentences();
        if let BrokerLink::Disconnected { reason, .. } = &link {
            problems.push(format!("no connection to the broker: {reason}"));
        }
        PlantStatus {
            site: self.plant.site.to_string(),
            name: self.plant.name.clone(),
            version: env!("CARGO_PKG_VERSION").into(),
            now: self.plant.shifts.local(self.clock.now()),
            ready,
            problems,
            broker: self.broker(&link, watch),
            store: self.seen.kept.borrow().clone(),
            lines: (0..self.plant.lines.len()).map(|line| self.line(LineIndex(line), watch)).collect(),
            alerts: self.alerts(),
            suppressions: self.suppressions(),
            shifts: self.shifts(),
        }
    }

    fn broker(&self, link: &BrokerLink, watch: &Watch) -> BrokerStatus {
        let (connected, protocol, since) = match link {
            BrokerLink::Connected { protocol, since } => (true, protocol.clone(), since),
            BrokerLink::Disconnected { since, .. } => (false, String::new(), since),
        };
        let (readings_total, readings_per_s) = self.seen.figures.pace();
        BrokerStatus {
            connected,
            protocol,
            since: Some(since.to_string()),
            readings_per_s,
            readings_total,
            late: watch.late(),
            rejected: self
                .seen
                .figures
                .rejected()
                .into_iter()
                .map(|(reason, count)| RejectedCount { reason: reason.into(), count })
                .collect(),
        }
    }

    fn line(&self, index: LineIndex, watch: &Watch) -> LineStatus {
        let line = &self.plant.lines[index.0];
        let load = watch.load(index);
        let window = watch.latest(index);
        let normal = window.and_then(|window| watch.normal(index, window.product.as_ref()?));
        let expected = window.and_then(|window| Some(normal?.expect(window.band_speed?)));
        let zone = |(number, zone): (usize, &ZoneWindow)| {
            let band = expected.as_ref().map(|expected| expected.zones[number].ln_humidity);
            let ends = [band.map(|band| band.mean), band.map(Band::low), band.map(Band::high)];
            self.zone(number + 1, zone, ends.map(|end| end.map(alert::message::moisture_pct)))
        };
        LineStatus {
            id: line.id.to_string(),
            name: line.name.clone(),
            state: window.map_or("unknown", |window| state_word(window)).into(),
            load: load_word(load.state).into(),
            load_since: Some(load.since.to_string()),
            product: window.and_then(|window| window.product.as_ref().map(ToString::to_string)),
            band_speed_m_min: window.and_then(|window| window.band_speed.map(|speed| speed.0)),
            band_speed_changed: last_change(watch.windows(index).iter().map(|window| &**window)),
            normal: normal.map(|normal| normal.key().to_string()),
            newest: watch.newest(index).map(|time| time.to_string()),
            zones: window.map_or_else(Vec::new, |window| window.zones.iter().enumerate().map(zone).collect()),
        }
    }

    fn zone(
        &self,
        number: usize,
        zone: &ZoneWindow,
        [expected_pct, low_pct, high_pct]: [Option<f64>; 3],
    ) -> ZoneStatus {
        let moisture = zone.humidity.and_then(|ratio| air::moisture_from_humidity_ratio(ratio).ok());
        ZoneStatus {
            zone: number,
            moisture_pct: moisture.map(|moisture| moisture.0 * 100.0),
            expected_pct,
            low_pct,
            high_pct,
            air_temperature_c: zone.air_temperature.map(|temperature| temperature.0),
            dew_point_c: moisture
                .and_then(|moisture| air::dew_point_from_moisture(moisture, self.plant.pressure).ok())
                .map(|dew_point| dew_point.0),
            exhaust_damper_pct: zone.exhaust_damper,
        }
    }

    /// Standing alerts and the latest past ones, newest first.
    fn alerts(&self) -> Vec<serde_json::Value> {
        let recent =
            AlertQuery { from: Some(self.clock.now() - reading::Span::minutes(24 * 60)), ..AlertQuery::default() };
        let (Ok(mut records), Ok(standing)) = (self.store.alerts(&recent), self.store.standing_alerts()) else {
            return Vec::new();
        };
        records.extend(standing.into_iter().filter(|alert| alert.raised < recent.from.unwrap_or(alert.raised)));
        records.sort_by_key(|alert| std::cmp::Reverse((alert.ended.is_none(), alert.raised)));
        records.iter().take(ALERTS_SHOWN).filter_map(|alert| serde_json::from_str(&alert.json).ok()).collect()
    }

    fn suppressions(&self) -> Vec<SuppressionStatus> {
        let records = self.store.alert_book().map(|book| book.suppressions).unwrap_or_default();
        let shown = |record: SuppressionRecord| SuppressionStatus {
            line: record.line,
            kind: record.kind,
            since: record.since.to_string(),
            until: record.until.map(|until| until.to_string()),
            reason: record.reason,
            by: record.who,
        };
        records.into_iter().map(shown).collect()
    }

    fn shifts(&self) -> Vec<ShiftLink> {
        let mut shifts = Vec::new();
        let mut time = self.clock.now();
        for _ in 0..SHIFTS_SHOWN {
            let Some(shift) = self.plant.shifts.at(time) else { break };
            time = shift.starts - reading::Span(1);
            shifts.extend(self.plant.lines.iter().map(|line| ShiftLink {
                line: line.id.to_string(),
                date: shift.date.to_string(),
                shift: shift.name.to_string(),
                href: format!("/shifts/{}/{}/{}", line.id, shift.date, shift.name),
            }));
        }
        shifts
    }
}

pub(crate) fn state_word(window: &Window) -> &'static str {
    match window.state {
        RunningState::Baking => "baking",
        RunningState::Gap => "gap",
        RunningState::Changeover => "changeover",
        RunningState::Heating => "heating",
        RunningState::Stopped => "stopped",
    }
}

fn load_word(state: LoadState) -> &'static str {
    match state {
        LoadState::Normal => "normal",
        LoadState::Rising => "rising",
        LoadState::Overloaded => "overloaded",
        LoadState::Unknown => "unknown",
    }
}
