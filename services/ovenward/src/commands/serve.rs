//! `ovenward serve`.

use anyhow::Context;
use chrono::{DateTime, Utc};
use clap::Args;
use tokio::signal::unix::{SignalKind, signal};

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

/// Runs the service until it is told to stop.
///
/// # Errors
/// It could not start, or a part of it failed.
pub fn serve(settings: Settings, arguments: &ServeArguments) -> Result<(), Failure> {
    let clock = arguments.clock();
    let runtime = tokio::runtime::Runtime::new()?;
    runtime.block_on(async {
        let mut terminate = signal(SignalKind::terminate()).context("cannot listen for SIGTERM")?;
        let stop = async move {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = terminate.recv() => {}
            }
        };
        tracing::info!(site = %settings.plant.site, status_page = %format!("http://{}/", settings.console.bind), "serving");
        service::run(settings, clock, stop).await
    })?;
    Ok(())
}
