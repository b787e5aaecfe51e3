//! Alerts as they are stored.

use alert::{AlertState, Rates};
use reading::Span;
use web::api::{Alert, AlertChange, AlertQuery, AlertRates, AlertRecord, Period, Refusal};

use super::{Api, failed, timestamp};
use crate::alert_desk::calls;

/// Without a beginning, alerts are listed so far back.
const LISTED: Span = Span::minutes(30 * 24 * 60);
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
        let (from, to) = (query.period.from.map(timestamp), query.period.to.map(timestamp));
        let records = if query.standing {
            self.store.standing_alerts()
        } else {
            let from = Some(from.unwrap_or(to.unwrap_or(self.clock.now()) - LISTED));
            self.store.alerts(&store::AlertQuery { from, to, line: query.line.clone(), state: query.state.clone() })
        };
        let mut records = records.map_err(failed)?;
        records.retain(|record| {
            query.line.as_ref().is_none_or(|line| *line == record.line)
                && query.state.as_ref().is_none_or(|state| *state == record.state)
                && from.is_none_or(|from| record.raised >= from)
                && to.is_none_or(|to| record.raised < to)
        });
        records.iter().rev().map(|record| alert(&record.json)).collect()
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
        Ok(AlertRecord { alert: alert(&record.json)?, history: changes.into_iter().map(change).collect() })
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
