//! `ovenward serve`.

use anyhow::{Context, Result};
use chrono::{DateTime, Utc};
use clap::Args;
use tokio::signal::unix::{Signal, SignalKind, signal};

use crate::config::Settings;
use crate::failure::Failure;
use crate::service::{self, PlantClock};

/// For a simulated plant that runs faster than time, the clock that it lives by.
#[derive(Debug, Args)]
pub struct ServeArguments {
    /// Plant time at the start (RFC 3339), instead of the machine's clock.
    #[arg(long, hide = true, value_name = "TIME")]
    clock_from: Option<DateTime<Utc>>,
    /// How many times faster than ours it runs from there on.
    #[arg(long, hide = true, default_value_t = 1.0, requires = "clock_from")]
    clock_speed: f64,
}

impl ServeArguments {
    fn clock(&self) -> PlantClock {
        self.clock_from.map_or(PlantClock::Machine, |from| PlantClock::simulated(from.into(), self.clock_speed))
    }
}

/// Runs the service until it is told to stop. Told to read its config again (SIGHUP), it ends in order and begins anew
/// with what `read` gives: the broker keeps what comes meanwhile. A config with a fault changes nothing.
///
/// # Errors
/// It could not start, or a part of it failed.
pub fn serve(arguments: &ServeArguments, read: impl Fn() -> Result<Settings, Failure>) -> Result<(), Failure> {
    let clock = arguments.clock();
    let runtime = tokio::runtime::Runtime::new()?;
    let mut next = Some(read()?);
    runtime.block_on(async {
        let mut signals = Signals::listen()?;
        while let Some(settings) = next.take() {
            tracing::info!(site = %settings.plant.site, status_page = %settings.console.url(), "serving");
            let stop = async { next = signals.stop_or_config(&read).await };
            service::run(settings, clock, stop).await?;
        }
        Ok(())
    })
}

/// What the system tells a service.
struct Signals {
    terminate: Signal,
    hang_up: Signal,
}

impl Signals {
    fn listen() -> Result<Self> {
        let listen = |kind, name| signal(kind).with_context(|| format!("cannot listen for {name}"));
        Ok(Self {
            terminate: listen(SignalKind::terminate(), "SIGTERM")?,
            hang_up: listen(SignalKind::hangup(), "SIGHUP")?,
        })
    }

    /// Waits until the service is to end; gives the config with which it is to begin anew, if it is.
    async fn stop_or_config(&mut self, read: impl Fn() -> Result<Settings, Failure>) -> Option<Settings> {
        loop {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => return None,
                _ = self.terminate.recv() => return None,
                _ = self.hang_up.recv() => match read() {
                    Ok(settings) => {
                        tracing::info!("the config is read again");
                        return Some(settings);
                    }
                    Err(failure) => tracing::error!("the config has faults, and nothing is changed:\n{failure}"),
                },
            }
        }
    }
}
