//! `ovenward check --connect`: whether the broker lets us in, and whether it keeps what we have not yet acknowledged.

mod receivers;

use std::io::Write;
use std::time::Duration;

use broker::{Answer, Connection, Intake, IntakeEvent, Token};
use tokio::time::{Instant, timeout_at};

use crate::check;
use crate::config::Settings;
use crate::failure::Failure;
use crate::service::PlantClock;

pub use receivers::check_receivers;

/// A disk that is busy, a restart: so long nothing may be acknowledged.
const STALL: Duration = Duration::from_secs(5);
/// Afterwards the broker has so long to send what it kept.
const CATCH_UP: Duration = Duration::from_secs(3);
/// What is on its way when counting ends; as a share of all, and at least so many.
const ON_ITS_WAY: (f64, u64) = (0.01, 20);

/// Connects to the broker, says in which version of MQTT it answered, and tries a stall on what the plant sends.
/// Nothing is published, and the service's own session is not touched.
///
/// # Errors
/// It did not answer, with what to look at.
pub fn check_broker(settings: &Settings, out: &mut dyn Write) -> Result<(), Failure> {
    let runtime = tokio::runtime::Runtime::new()?;
    let connection = &settings.broker;
    let Answer { protocol, certificate } = runtime.block_on(broker::try_connect(connection))?;
    writeln!(out, "The broker at {}:{} answers in {protocol}.", connection.host, connection.port)?;
    if let Some(certificate) = certificate {
        check::describe_certificate(&certificate, PlantClock::Machine.now(), out)?;
    }
    let topics = settings.topics_read();
    let counts = runtime.block_on(async {
        let counted = receive(connection, "-prompt", topics.clone(), Duration::ZERO);
        let stalled = receive(connection, "-stalled", topics, STALL);
        tokio::try_join!(counted, stalled)
    })?;
    let (sent, kept) = counts;
    writeln!(out, "{}", in_words(sent, kept))?;
    Ok(())
}

/// What the counts of two clients mean, of which one acknowledged at once, and the other nothing for [`STALL`].
fn in_words(sent: u64, kept: u64) -> String {
    let seconds = STALL.as_secs();
    let rate = sent as f64 / (STALL + CATCH_UP).as_secs_f64();
    let lost = sent.saturating_sub(kept);
    let allowed = ((sent as f64 * ON_ITS_WAY.0) as u64).max(ON_ITS_WAY.1);
    if sent == 0 {
        return "Nothing came meanwhile: whether the broker keeps what waits cannot be told. Try again while the plant sends.".into();
    }
    if lost <= allowed {
        return format!(
            "At {rate:.0} messages a second it kept everything while nothing was acknowledged for {seconds} s."
        );
    }
    format!(
        "WARNING: at {rate:.0} messages a second it dropped {lost} of {sent} while nothing was acknowledged for {seconds} s.\n\
         Let it keep more for a client that is slow: in mosquitto `max_queued_messages 0` (no limit) or at least {:.0}, a minute's, and\n\
         `max_inflight_messages` as large as `receive_maximum`; deploy/mosquitto/ovenward.conf has both.",
        (rate * 60.0).ceil()
    )
}

/// Counts what a client of its own receives that acknowledges nothing before `stall` is over.
async fn receive(connection: &Connection, suffix: &str, topics: Vec<String>, stall: Duration) -> anyhow::Result<u64> {
    let connection = Connection {
        client_id: format!("{}{suffix}", connection.client_id),
        // Gone as soon as we are.
        session_expiry: Duration::ZERO,
        ..connection.clone()
    };
    let mut intake = Intake::start(connection, topics, std::sync::Arc::new(|| 0))?;
    let (mut count, mut held): (u64, Vec<Token>) = (0, Vec::new());
    let mut began = Instant::now();
    while let Ok(Some(event)) = timeout_at(began + STALL + CATCH_UP, intake.events.recv()).await {
        match event {
            // Counting begins with what comes after the retained messages.
            IntakeEvent::Subscribed { .. } => began = Instant::now(),
            IntakeEvent::Delivered(deliveries) => {
                count += deliveries.iter().filter(|delivery| !delivery.retained).count() as u64;
                held.extend(deliveries.into_iter().map(|delivery| delivery.token));
            }
            _ => {}
        }
        if began.elapsed() >= stall {
            intake.acknowledger.acknowledge(held.drain(..));
        }
    }
    intake.stop.stop_deliveries();
    intake.stop.end();
    let _ = intake.task.await;
    Ok(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_broker_that_drops_is_warned_of_with_what_to_change() {
        assert!(in_words(0, 0).contains("cannot be told"));
        assert!(in_words(8000, 7990).starts_with("At 1000 messages a second it kept everything"));
        let warning = in_words(8000, 4100);
        assert!(warning.contains("dropped 3900 of 8000") && warning.contains("at least 60000"), "{warning}");
    }
}
