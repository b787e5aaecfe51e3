//! The simulated bakery on the command line.

mod arguments;
mod csv;
mod stream;
mod transit;

use std::io::IsTerminal;
use std::process::ExitCode;

use clap::Parser;
use tracing_subscriber::EnvFilter;

use arguments::{Arguments, Command};

#[tokio::main]
async fn main() -> ExitCode {
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new("info"));
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(std::io::stderr().is_terminal())
        .with_writer(std::io::stderr)
        .init();
    let done = match Arguments::parse().command {
        Command::Publish(asked) => stream::publish(&asked).await,
        Command::Csv(asked) => csv::write(&asked),
        Command::Transit(asked) => transit::write(&asked),
        Command::Flood(asked) => stream::flood(&asked).await,
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            tracing::error!("{error:#}");
            ExitCode::FAILURE
        }
    }
}
