//! What is kept, what is missing, and what could not be read.

use reading::Timestamp;
use web::RejectedCount;
use web::api::{Gap, Period, Quarantine, QuarantinedPayload, Refusal, StoreSize};

use super::{Api, failed, timestamp};

/// The newest payloads that are shown.
const PAYLOADS: usize = 500;
/// Of each payload so many letters are shown.
const LETTERS: usize = 200;

impl Api {
    pub(super) fn list_gaps(&self, period: Period) -> Result<Vec<Gap>, Refusal> {
        let from = period.from.map_or(Timestamp(i64::MIN), timestamp);
        let to = period.to.map_or(Timestamp(i64::MAX), timestamp);
        let gap = |gap: store::Gap| Gap {
            began: gap.began.to_string(),
            ended: gap.ended.to_string(),
            cause: gap.cause.name().into(),
            lost: gap.lost,
        };
        Ok(self.store.gaps(from, to).map_err(failed)?.into_iter().rev().map(gap).collect())
    }

    pub(super) fn store_size(&self) -> Result<StoreSize, Refusal> {
        let (size, span) = (self.store.size().map_err(failed)?, self.store.span().map_err(failed)?);
        Ok(StoreSize {
            readings: size.hot_readings + size.sealed_readings,
            oldest: span.map(|(oldest, _)| oldest.to_string()),
            newest: span.map(|(_, newest)| newest.to_string()),
            hot_readings: size.hot_readings,
            hot_bytes: size.hot_bytes,
            segments: size.segments as u64,
            sealed_readings: size.sealed_readings,
            sealed_bytes: size.sealed_bytes,
            bytes_per_sealed_reading: size.bytes_per_sealed_reading(),
            outbox: self.store.outbox_len().map_err(failed)? as u64,
        })
    }

    pub(super) fn list_quarantine(&self) -> Result<Quarantine, Refusal> {
        let counts = self.store.quarantine_counts().map_err(failed)?;
        let payload = |entry: store::QuarantineEntry| {
            let kept = entry.quarantined;
            QuarantinedPayload {
                id: entry.id,
                received: kept.received.to_string(),
                topic: kept.topic,
                payload: String::from_utf8_lossy(&kept.payload).chars().take(LETTERS).collect(),
                bytes: kept.payload.len(),
                reason: kept.reason,
                detail: kept.detail,
            }
        };
        Ok(Quarantine {
            counts: counts.into_iter().map(|(reason, count)| RejectedCount { reason, count: count as u64 }).collect(),
            items: self.store.quarantine(PAYLOADS).map_err(failed)?.into_iter().map(payload).collect(),
            next: None,
        })
    }
}
