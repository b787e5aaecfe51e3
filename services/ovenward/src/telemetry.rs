//! Logs to stderr; results alone go to stdout.

use std::io::IsTerminal;

use tracing_subscriber::EnvFilter;

use crate::cli::LogFormat;

/// Starts logging. `RUST_LOG` says what to log; without it, what a plant wants to read.
pub fn start_logging(format: LogFormat, default: &str) {
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new(default));
    let logs = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr);
    // A second start (tests in one process) changes nothing.
    let _ = match format {
        LogFormat::Text => logs.with_ansi(std::io::stderr().is_terminal()).with_target(false).try_init(),
        LogFormat::Json => logs.json().try_init(),
    };
}
