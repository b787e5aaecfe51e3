//! Records of rate changes as they are stored, and which of them speaks of a rise that raised an alert.
//!
//! The record is asked when an alert is shown, never in detection: a replay raises the same alerts whatever people have
//! agreed since.

mod follow_up;

use alert::{Alert, Kind};
use balance::{RateChange, RateChangeRefusal};
use store::{RateChangeRecord, Store};

use crate::failure::Failure;
pub(crate) use follow_up::came;

/// Every rate change, in the order in which they were proposed.
pub(crate) fn all(store: &Store) -> anyhow::Result<Vec<RateChange>> {
    let records = store.rate_changes()?;
    records.iter().map(|record| Ok(serde_json::from_str(&record.json)?)).collect()
}

/// A rate change as it is stored.
pub(crate) fn record(change: &RateChange) -> serde_json::Result<RateChangeRecord> {
    Ok(RateChangeRecord {
        id: change.id.clone(),
        line: change.line.clone(),
        state: change.state().to_string(),
        proposed: change.proposed.at,
        json: serde_json::to_string(change)?,
    })
}

/// Changes a record as `decide` has it.
///
/// # Errors
/// There is no such record (no data), a step that is not possible (usage), or the store cannot be used.
pub(crate) fn changed(
    store: &Store,
    id: &str,
    decide: impl FnOnce(&mut RateChange) -> Result<(), RateChangeRefusal>,
) -> Result<RateChange, Failure> {
    store.change_rate(|known| {
        let mut change = named(known, id)?;
        decide(&mut change).map_err(|why| refused(id, &why))?;
        Ok((record(&change)?, change))
    })
}

/// The rate change of this id.
///
/// # Errors
/// There is none (no data).
pub(crate) fn named(known: &[RateChangeRecord], id: &str) -> Result<RateChange, Failure> {
    let found = known.iter().find(|record| record.id == id);
    let found = found
        .ok_or_else(|| Failure::NoData(format!("there is no rate change {id}; `ovenward rate list` lists them")))?;
    Ok(serde_json::from_str(&found.json)?)
}

/// Why a step is not possible, as who asked for it is told.
pub(crate) fn refused(about: &str, why: &RateChangeRefusal) -> Failure {
    Failure::usage(format!("{about} {why}; nothing was changed"))
}

/// The review behind the rise of an alert: its rate change, if there is one, and the same in words. Nothing for an alert
/// that is about no rise.
pub(crate) fn review_of<'a>(alert: &Alert, changes: &'a [RateChange]) -> Option<(Option<&'a RateChange>, String)> {
    if alert.kind != Kind::UnmatchedSpeedRise {
        return None;
    }
    let speed = alert.speed.as_ref()?;
    let reviews =
        |change: &&RateChange| change.reviews(&alert.line, alert.product.as_deref(), speed.after, alert.began);
    let found = changes.iter().rev().find(reviews);
    let words = match found {
        Some(change) => format!("reviewed in {}, proposed by {}", change.id, change.proposed.by),
        None => "no review found".into(),
    };
    Some((found, words))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use balance::{Role, Signature};
    use reading::{Span, Timestamp};
    use serde_json::json;

    use super::*;

    fn rise() -> Alert {
        let alert = json!({
            "id": "01A", "site": "millbrook", "line": "tunnel-1", "kind": "unmatched-speed-rise", "finding": "carryover",
            "priority": "high", "state": "unacknowledged", "product": "T800", "began": "2026-06-02T08:00:00Z",
            "raised": "2026-06-02T08:10:00Z", "ended": null,
            "speed": { "before": 1.17, "after": 1.3, "rise_pct": 11.1, "unit": "m/min" },
            "zones": [], "confidence": 0.99, "normal": null, "message": "", "advice": [], "caution": ""
        });
        serde_json::from_value(alert).unwrap()
    }

    fn agreed_at(at: Timestamp) -> RateChange {
        let mut change = RateChange {
            id: "tunnel-1/rate/1".into(),
            line: "tunnel-1".into(),
            product: "T800".into(),
            from_m_min: 1.17,
            to_m_min: 1.3,
            remedy: None,
            reason: "order of June".into(),
            balance: "tunnel-1/T800/1".into(),
            foretold: Vec::new(),
            carryover_chance_pct: 40.0,
            proposed: Signature { by: "Ann".into(), at },
            agreed: Vec::new(),
            made: None,
            outcome: None,
        };
        Role::ALL.into_iter().for_each(|role| change.agree(role, "Bo", at).unwrap());
        change
    }

    #[test]
    fn a_rise_is_linked_to_the_review_that_came_before_it_or_said_to_have_none() {
        let rise = rise();
        let before = agreed_at(rise.began - Span::minutes(60));
        let after = agreed_at(rise.began + Span::minutes(1));
        let told = |changes: &[RateChange]| review_of(&rise, changes).map(|(_, words)| words);
        assert_eq!(told(&[]).as_deref(), Some("no review found"));
        assert_eq!(told(&[after]).as_deref(), Some("no review found"), "agreed when it had happened");
        assert_eq!(
            told(std::slice::from_ref(&before)).as_deref(),
            Some("reviewed in tunnel-1/rate/1, proposed by Ann")
        );
        let other = Alert { kind: Kind::SensorFault, ..rise.clone() };
        assert_eq!(review_of(&other, &[before]), None, "it is about no rise");
    }
}
