//! Alerts as they are stored.

use alert::{AlertState, Rates};
use reading::Span;
use web::api::{Alert, AlertChange, AlertQuery, AlertRates, AlertRecord, AlertReview, Period, Refusal};

use super::{Api, failed, timestamp};
use crate::alert_desk::calls;
use crate::rate_changes::{self, review_of};

/// Without a beginning, rates are given so far back.
const RATED: Span = Span::minutes(7 * 24 * 60);
/// The longest time of which rates are given at once.
const LONGEST: Span = Span::minutes(366 * 24 * 60);

impl Api {
    pub(super) fn list_alerts(&self, query: &AlertQuery) -> Result<Vec<Alert>, Refusal> {
        if let Some(line) = &query.line {
            self.line(line)?;
        }
        if let Some(state) = &query.state
            && !AlertState::ALL.iter().any(|known| known.name() == state)
        {
            let known = AlertState::ALL.map(AlertState::name).join(", ");
            return Err(Refusal::Wrong(format!("No alert is ever {state:?}. Write one of {known}.")));
        }
        if let Some(after) = &query.after
            && !self.store.alerts_called(after).map_err(failed)?.iter().any(|record| record.id == *after)
        {
            let detail = "There is no alert of the id that \"cursor\" names. Begin again without a cursor.";
            return Err(Refusal::Wrong(detail.into()));
        }
        let (from, to) = (query.period.from.map(timestamp), query.period.to.map(timestamp));
        let kept = store::AlertQuery { from, to, line: query.line.clone(), state: query.state.clone() };
        let records = self.store.newest_alerts(&kept, query.standing, query.after.as_deref(), query.limit);
        records.map_err(failed)?.iter().map(|record| alert(&record.json)).collect()
    }

    pub(super) fn alert_with_history(&self, id: &str) -> Result<AlertRecord, Refusal> {
        let found = self.store.alerts_called(id).map_err(failed)?;
        let Some(record) = found.into_iter().find(|record| record.id == id) else {
            return Err(Refusal::NotFound(format!("There is no alert {id:?}. /api/v1/alerts lists them.")));
        };
        let changes = self.store.alert_history(id).map_err(failed)?;
        let change = |change: store::AlertChange| AlertChange {
            time: change.time.to_string(),
            who: change.who,
            what: change.what,
            state: change.state,
        };
        let history = changes.into_iter().map(change).collect();
        Ok(AlertRecord { alert: alert(&record.json)?, history, review: self.review(&record.json)? })
    }

    fn review(&self, alert: &str) -> Result<Option<AlertReview>, Refusal> {
        let alert: alert::Alert = serde_json::from_str(alert).map_err(failed)?;
        let changes = rate_changes::all(&self.store).map_err(failed)?;
        let told = review_of(&alert, &changes);
        Ok(told.map(|(change, words)| AlertReview { rate_change: change.map(|change| change.id.clone()), words }))
    }

    pub(super) fn rates(&self, period: Period) -> Result<Vec<AlertRates>, Refusal> {
        let now = self.clock.now();
        let to = period.to.map_or(now, timestamp).min(now);
        let from = period.from.map_or(to - RATED, timestamp);
        if to - from > LONGEST {
            return Err(Refusal::Wrong("More than a year is asked for. Ask for one year after the other.".into()));
        }
        let mut rates = Vec::new();
        for line in &self.plant.lines {
            let calls = calls(&self.store, &line.id).map_err(failed)?;
            for shift in self.plant.shifts.between(from, to) {
                let found = Rates::between(&calls, shift.starts.max(from), shift.ends.min(to));
                let shown = AlertRates {
                    line: line.id.to_string(),
                    date: shift.date.to_string(),
                    shift: shift.name.to_string(),
                    calls: found.calls,
                    high: found.high,
                    per_hour: found.per_hour,
                    most_in_ten_minutes: found.most_in_ten_minutes,
                    flood_share: found.flood_share,
                    stale: found.stale,
                    missed: found.missed().into_iter().map(Into::into).collect(),
                };
                rates.push((shift.starts, shown));
            }
        }
        rates.sort_by_key(|(starts, _)| std::cmp::Reverse(*starts));
        Ok(rates.into_iter().map(|(_, shown)| shown).collect())
    }
}

/// An alert as it is stored, which is as it is sent.
pub(super) fn alert(json: &str) -> Result<Alert, Refusal> {
    serde_json::from_str(json).map_err(failed)
}
