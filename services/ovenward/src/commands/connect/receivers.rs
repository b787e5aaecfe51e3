//! Whether those who are told of alerts can be reached.

use std::io::Write;

use crate::config::Settings;
use crate::failure::Failure;

/// Connects to each receiver of alerts as the service would, signs in where it would, and sends nothing.
///
/// # Errors
/// Some could not be reached; which and why is written to `out` as well as who could.
pub fn check_receivers(settings: &Settings, out: &mut dyn Write) -> Result<(), Failure> {
    let runtime = tokio::runtime::Runtime::new()?;
    let mut unreached = Vec::new();
    for receiver in &settings.receivers {
        match runtime.block_on(receiver.channel.try_connect()) {
            Ok(found) => writeln!(out, "{}: {found}.", receiver.name)?,
            Err(error) => {
                writeln!(out, "{}: NOT REACHED: {error}", receiver.name)?;
                unreached.push(receiver.name.as_str());
            }
        }
    }
    if unreached.is_empty() {
        return Ok(());
    }
    Err(anyhow::anyhow!("not reached, so not told of alerts: {}", unreached.join(", ")).into())
}
