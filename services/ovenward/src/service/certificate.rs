//! The certificate of the console: read again when its files change, and looked after before its time is over.

use std::sync::Arc;
use std::time::Duration;

use anyhow::bail;
use reading::{Span, Timestamp};
use tokio::sync::watch;
use tokio::time::sleep;
use web::Certificate;

use super::clock::PlantClock;
use super::troubles::{Troubles, Work};
use super::until_true;
use crate::certificates;

/// How often the files are looked at.
const LOOK_EVERY: Duration = Duration::from_secs(10);
/// How often it is said that its end comes near.
const REMIND_EVERY: Span = Span::minutes(24 * 60);

/// Looks after the certificate until the service stops.
pub(super) async fn look_after(
    certificate: Option<Arc<Certificate>>,
    troubles: Arc<Troubles>,
    stopped: watch::Receiver<bool>,
) {
    let Some(certificate) = certificate else { return until_true(stopped).await };
    let mut reminded = None;
    while !*stopped.borrow() {
        // Browsers go by the clock on the wall, also where the plant's runs faster.
        let now = PlantClock::Machine.now();
        troubles.note(Work::Certificate, renewed(&certificate, now));
        if reminded.is_none_or(|reminded| now - reminded >= REMIND_EVERY)
            && let Some(warning) = certificates::warning([&certificates::of_console(&certificate)], now)
        {
            tracing::warn!("{warning}; put a new one into its files");
            reminded = Some(now);
        }
        tokio::select! {
            () = sleep(LOOK_EVERY) => {}
            () = until_true(stopped.clone()) => {}
        }
    }
}

fn renewed(certificate: &Certificate, now: Timestamp) -> anyhow::Result<()> {
    if certificate.renew()? {
        tracing::info!("the certificate of the console was read again");
    }
    let (begins, ends) = certificate.validity();
    if Timestamp::from(ends) <= now {
        bail!("it ended at {ends}, and browsers refuse it");
    }
    if Timestamp::from(begins) > now {
        bail!("it begins at {begins}: until then browsers refuse it; is the clock of this machine right?");
    }
    Ok(())
}
