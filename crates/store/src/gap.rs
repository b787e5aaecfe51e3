//! Stretches in which readings were lost on their way here, as far as that can be known.

use reading::Timestamp;
use rusqlite::params;
use serde::Serialize;

use crate::Store;
use crate::error::StoreError;

/// How readings were lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum GapCause {
    /// The broker had forgotten our session, and with it what came while we were away.
    SessionLost,
    /// The broker dropped messages for want of room. They may have been for others than us.
    BrokerDropped,
    /// The sequence numbers of an edge node have a hole: messages without acknowledgement did not come.
    SequenceBroken,
}

impl GapCause {
    const ALL: [Self; 3] = [Self::SessionLost, Self::BrokerDropped, Self::SequenceBroken];

    /// Its name, as it is stored and printed.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::SessionLost => "session-lost",
            Self::BrokerDropped => "broker-dropped",
            Self::SequenceBroken => "sequence-broken",
        }
    }
}

/// A stretch of time of which readings are missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Gap {
    /// Up to here everything was received.
    pub began: Timestamp,
    /// From here on it is again.
    pub ended: Timestamp,
    /// How they were lost.
    pub cause: GapCause,
    /// How many messages, where that is known.
    pub lost: Option<u64>,
}

impl Store {
    /// Keeps a gap. One that reaches into the last of the same cause becomes one with it, so that an hour of drops is
    /// one gap and not hundreds.
    ///
    /// # Errors
    /// It is not kept. See [`StoreError`].
    pub fn record_gap(&self, gap: &Gap) -> Result<(), StoreError> {
        self.inner.database.write("keep a gap", |transaction, _| {
            let joined = transaction.execute(
                "UPDATE gap SET ended = max(ended, ?2), lost = lost + ?4
                 WHERE id = (SELECT max(id) FROM gap) AND cause = ?3 AND began <= ?1 AND ended >= ?1",
                params![gap.began.0, gap.ended.0, gap.cause.name(), gap.lost],
            )?;
            if joined == 0 {
                transaction.execute(
                    "INSERT INTO gap (began, ended, cause, lost) VALUES (?1, ?2, ?3, ?4)",
                    params![gap.began.0, gap.ended.0, gap.cause.name(), gap.lost],
                )?;
            }
            Ok(())
        })
    }

    /// The gaps that reach into `from <= time < to`, in order of their beginning.
    ///
    /// # Errors
    /// See [`StoreError`].
    pub fn gaps(&self, from: Timestamp, to: Timestamp) -> Result<Vec<Gap>, StoreError> {
        self.inner.database.read("list the gaps", |snapshot| {
            let mut select = snapshot.prepare_cached(
                "SELECT began, ended, cause, lost FROM gap WHERE ended > ?1 AND began < ?2 ORDER BY began, id",
            )?;
            let gaps = select.query_map([from.0, to.0], |row| {
                let cause: String = row.get(2)?;
                let cause = GapCause::ALL.into_iter().find(|known| known.name() == cause);
                let (began, ended) = (Timestamp(row.get(0)?), Timestamp(row.get(1)?));
                // A cause that this version does not know is one of a later version.
                Ok(cause.map(|cause| (began, ended, cause)).zip(Some(row.get(3)?)))
            })?;
            let known = gaps.filter_map(Result::transpose);
            Ok(known
                .map(|gap| gap.map(|((began, ended, cause), lost)| Gap { began, ended, cause, lost }))
                .collect::<Result<_, _>>()?)
        })
    }
}
