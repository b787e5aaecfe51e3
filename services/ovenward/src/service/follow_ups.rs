//! A day after a rate change was made: what came of it is held against what was foretold, kept, and told on MQTT.

use std::collections::BTreeSet;

use anyhow::{Result, anyhow};
use balance::{RateChange, RateChangeState};
use reading::Timestamp;

use super::shifts::ShiftLoop;
use super::topics::retained;
use crate::fits::SETTLE;
use crate::rate_changes::{all, came, changed};

/// In whose name the service looks.
const BY: &str = "ovenward";

impl ShiftLoop {
    /// Looks at every change whose day is over, and tells of every one that was looked at, by whomever. Those of which
    /// nothing came, for the line was never at rest at the new speed, are noted in `in_vain`.
    pub(super) fn look_at_rate_changes(&self, in_vain: &mut BTreeSet<String>) -> Result<()> {
        let Some((_, newest)) = self.store.span()? else { return Ok(()) };
        for change in all(&self.store)? {
            if change.state() == RateChangeState::Made && !in_vain.contains(&change.id) {
                // Before its day is over there is nothing to look at.
                if let Ok(day) = change.day_after(newest - SETTLE) {
                    self.look_at(&change, day, newest, in_vain)?;
                }
            }
        }
        for change in all(&self.store)? {
            let noted = format!("rate-change-published/{}", change.id);
            if change.state() == RateChangeState::LookedAt && self.store.meta(&noted)?.is_none() {
                let message = retained(self.topics.rate_change(&change.line), serde_json::to_vec(&change)?);
                self.store.enqueue_noting(&[message], &noted, "looked at")?;
                self.waiting.notify_one();
            }
        }
        Ok(())
    }

    fn look_at(
        &self,
        change: &RateChange,
        day: (Timestamp, Timestamp),
        now: Timestamp,
        in_vain: &mut BTreeSet<String>,
    ) -> Result<()> {
        let Some(came) = came(&self.store, &self.settings, change, day)? else {
            tracing::warn!(
                "{}: never at rest at {:.2} m/min in the 24 h after it was made",
                change.id,
                change.to_m_min
            );
            in_vain.insert(change.id.clone());
            return Ok(());
        };
        let look = |change: &mut RateChange| change.look_at(&came.moisture_pct, came.hours, BY, now);
        let looked = changed(&self.store, &change.id, look).map_err(|failure| anyhow!("{failure}"))?;
        let zones = looked.outcome.map(|outcome| outcome.zones).unwrap_or_default();
        let otherwise = zones.iter().filter(|zone| !zone.inside).count();
        tracing::info!(
            "{}: a day after it was made, {otherwise} of {} zones are not as foretold",
            looked.id,
            zones.len()
        );
        Ok(())
    }
}
