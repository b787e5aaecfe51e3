//! What has called somebody.

use alert::{Alert, AlertState, Call};
use store::{AlertQuery, Store};

/// The alerts of a line that called somebody, ever: one that stands for weeks is stale today. What was
/// raised quietly and let go later called then; that is as rare as it is hard to count, and left out.
pub(crate) fn calls(store: &Store, line: &str) -> anyhow::Result<Vec<Call>> {
    let mut calls = Vec::new();
    for record in store.alerts(&AlertQuery { line: Some(line.into()), ..AlertQuery::default() })? {
        let raised_as = store.alert_history(&record.id)?.into_iter().next().map(|change| change.state);
        let quiet = [AlertState::Shelved, AlertState::OutOfService].map(AlertState::name);
        if raised_as.is_some_and(|state| quiet.contains(&&*state)) {
            continue;
        }
        let alert: Alert = serde_json::from_str(&record.json)?;
        calls.push(Call { raised: alert.raised, ended: alert.ended, priority: alert.priority });
    }
    Ok(calls)
}
