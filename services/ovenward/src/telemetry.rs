//! Logs to stderr or the journal; results alone go to stdout.

use std::io::IsTerminal;

use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;
use tracing_subscriber::{EnvFilter, Layer, fmt};

use crate::cli::LogFormat;

/// Starts logging. `RUST_LOG` says what to log; without it, what a plant wants to read.
pub fn start_logging(format: LogFormat, default: &str) {
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new(default));
    let (logs, refused) = match format {
        LogFormat::Text => (text(), None),
        LogFormat::Json => (fmt::layer().json().with_writer(std::io::stderr).boxed(), None),
        LogFormat::Journal => match tracing_journald::layer() {
            Ok(journal) => (of_ours(journal).boxed(), None),
            Err(error) => (text(), Some(error)),
        },
    };
    // A second start (tests in one process) changes nothing.
    let _ = tracing_subscriber::registry().with(logs.with_filter(filter)).try_init();
    if let Some(error) = refused {
        tracing::warn!("there is no journal to write to ({error}); logs go to stderr");
    }
}

/// `journalctl SYSLOG_IDENTIFIER=ovenward OVENWARD_LINE=tunnel-1` finds what was told of one oven.
fn of_ours(journal: tracing_journald::Layer) -> tracing_journald::Layer {
    journal.with_syslog_identifier("ovenward".to_owned()).with_field_prefix(Some("OVENWARD".to_owned()))
}

fn text<S>() -> Box<dyn Layer<S> + Send + Sync>
where
    S: tracing::Subscriber + for<'a> tracing_subscriber::registry::LookupSpan<'a>,
{
    let logs = fmt::layer().with_writer(std::io::stderr);
    logs.with_ansi(std::io::stderr().is_terminal()).with_target(false).boxed()
}
