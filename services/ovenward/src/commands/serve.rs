//! `ovenward serve`.

use anyhow::Context;
use tokio::signal::unix::{SignalKind, signal};

use crate::config::Settings;
use crate::failure::Failure;
use crate::service::{self, PlantClock};

/// Runs the service until it is told to stop.
///
/// # Errors
/// It could not start, or a part of it failed.
pub fn serve(settings: Settings) -> Result<(), Failure> {
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
        service::run(settings, PlantClock::Machine, stop).await
    })?;
    Ok(())
}
