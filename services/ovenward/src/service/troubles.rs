//! What keeps the service from its whole work: told once when it begins, shown while it lasts, told once when it is over.

use std::collections::BTreeMap;

use tokio::sync::watch;

/// A work of the service that can fail for a while and is tried again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Work {
    /// Taking readings in.
    StoringReadings,
    /// Giving names to what edge nodes send.
    NamingMetrics,
    /// Connecting to the broker, once a certificate has ended.
    Connecting,
    /// Keeping what is known to be missing.
    StoringGaps,
    /// Keeping what detection has found.
    StoringAlerts,
    /// Looking for what people did about alerts, and ending shelves.
    Answers,
    /// Writing at all, after an I/O error.
    Recovering,
    /// Moving hours that are over into files.
    Sealing,
    /// Dropping readings that are old enough.
    Dropping,
    /// Telling how much the store keeps.
    Measuring,
    /// Emptying the outbox.
    Publishing,
    /// Making the tables of finished shifts.
    ShiftTables,
    /// Telling whether the normals still fit.
    Fits,
    /// Looking at what came of rate changes.
    FollowUps,
    /// Copying what is sealed to the lake of all plants.
    Lake,
    /// Reading the approved normals.
    ReadingNormals,
    /// Telling people of alerts by webhook and mail.
    Notices,
    /// Showing browsers a certificate that they trust.
    Certificate,
    /// Writing into the database of `[sql]`.
    Database,
}

impl Work {
    /// Whether the service does its whole work all the same, and the plant's people have something to do.
    fn is_notice(self) -> bool {
        matches!(
            self,
            Self::NamingMetrics | Self::Connecting | Self::Measuring | Self::Notices | Self::Database | Self::Lake
        )
    }

    /// What does not happen, and what happens instead.
    fn at_a_stand(self) -> &'static str {
        match self {
            Self::StoringReadings => "readings cannot be stored, the broker keeps them meanwhile",
            Self::NamingMetrics => {
                "metrics of edge nodes cannot be named before their next birth, they go into quarantine"
            }
            Self::Connecting => "a certificate has to be renewed, or nothing connects to the broker any more",
            Self::StoringGaps => "gaps in the readings cannot be stored, they are kept in memory meanwhile",
            Self::StoringAlerts => "alerts cannot be stored, they are kept in memory meanwhile",
            Self::Answers => "what people did about alerts cannot be seen to, shelves stay as they are meanwhile",
            Self::Recovering => "nothing is written since an I/O error",
            Self::Sealing => "readings cannot be sealed, they stay where they are",
            Self::Dropping => "old readings cannot be dropped, they stay meanwhile",
            Self::Measuring => "what the store keeps cannot be told, the figures of before are shown",
            Self::Publishing => "messages cannot be published, they are kept meanwhile",
            Self::ShiftTables => "the tables of finished shifts cannot be made yet",
            Self::Fits => "whether the normals still fit cannot be told",
            Self::FollowUps => "what came of rate changes cannot be looked at yet",
            Self::Notices => "somebody cannot be told of alerts, it is tried again",
            Self::Lake => "the lake does not get what is sealed, it is kept here and sent later",
            Self::Certificate => "the certificate of the console needs a person, the last that was whole is shown",
            Self::Database => "nothing is written into the database, what it lacks is in the store",
            Self::ReadingNormals => "the approved normals cannot be read, those read before are used",
        }
    }
}

/// The troubles of the moment. Every part of the service reports here how its attempts ended.
pub(crate) struct Troubles {
    present: watch::Sender<BTreeMap<Work, String>>,
}

impl Default for Troubles {
    fn default() -> Self {
        Self { present: watch::channel(BTreeMap::new()).0 }
    }
}

impl Troubles {
    /// Takes note of how an attempt ended; gives what it gave. The log hears of it only when it ended otherwise than
    /// the attempt before.
    pub(crate) fn note<T>(&self, work: Work, attempt: Result<T, impl Into<anyhow::Error>>) -> Option<T> {
        match attempt {
            Ok(value) => {
                if self.present.send_if_modified(|present| present.remove(&work).is_some()) {
                    tracing::info!("over: {}", work.at_a_stand());
                }
                Some(value)
            }
            Err(error) => {
                let text = format!("{}: {:#}", work.at_a_stand(), error.into());
                let told = |present: &mut BTreeMap<_, _>| present.insert(work, text.clone()).as_ref() != Some(&text);
                if self.present.send_if_modified(told) {
                    tracing::error!("{text}");
                }
                None
            }
        }
    }

    /// A sentence for each.
    pub(crate) fn sentences(&self) -> Vec<String> {
        self.present.borrow().values().cloned().collect()
    }

    /// Whether one of them keeps the service from its work.
    pub(crate) fn hinder(&self) -> bool {
        self.present.borrow().keys().any(|work| !work.is_notice())
    }

    /// To be told of changes.
    pub(crate) fn changes(&self) -> watch::Receiver<BTreeMap<Work, String>> {
        self.present.subscribe()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use anyhow::anyhow;

    use super::*;

    #[test]
    fn a_trouble_is_told_when_it_begins_changes_and_is_over_and_not_in_between() {
        let troubles = Troubles::default();
        let mut changes = troubles.changes();
        let mut told = |attempt: Result<i32, &'static str>| {
            let given = troubles.note(Work::Sealing, attempt.map_err(|text| anyhow!(text)));
            let changed = changes.has_changed().unwrap();
            changes.mark_unchanged();
            (given, changed)
        };
        assert_eq!(told(Ok(1)), (Some(1), false));
        assert_eq!(told(Err("full")), (None, true));
        assert_eq!(told(Err("full")), (None, false));
        assert_eq!(told(Err("broken")), (None, true));
        assert_eq!(troubles.sentences(), ["readings cannot be sealed, they stay where they are: broken"]);
        assert_eq!(told(Ok(2)), (Some(2), true));
        assert!(troubles.sentences().is_empty());
    }

    #[test]
    fn a_notice_is_told_and_hinders_nothing() {
        let troubles = Troubles::default();
        troubles.note::<()>(Work::NamingMetrics, Err(anyhow!("Millbrook/gateway-1")));
        assert_eq!((troubles.sentences().len(), troubles.hinder()), (1, false));
        troubles.note::<()>(Work::Sealing, Err(anyhow!("full")));
        assert!(troubles.hinder());
    }
}
