//! The program `ovenward`.

use std::io::{self, Write};
use std::process::ExitCode;

use clap::Parser;
use ovenward::cli::Cli;
use ovenward::failure::Failure;

fn main() -> ExitCode {
    let mut out = io::BufWriter::new(io::stdout().lock());
    let result = Cli::parse().run(&mut out);
    // A reader that has gone away (`| head`) wants no more.
    let _ = out.flush();
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            // Faults of a config begin with file and line, where editors look for them.
            let name = if matches!(failure, Failure::Config(_)) { "" } else { "ovenward: " };
            let _ = writeln!(io::stderr(), "{name}{failure}");
            ExitCode::from(failure.status())
        }
    }
}
