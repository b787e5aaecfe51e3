//! The program `ovenward`.

use std::ffi::OsString;
use std::io::{self, Write};
use std::process::ExitCode;

use clap::Parser;
use ovenward::cli::Cli;
use ovenward::failure::Failure;

fn main() -> ExitCode {
    let mut out = io::BufWriter::new(io::stdout().lock());
    let result = Cli::parse_from(arguments()).run(&mut out);
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

/// The command line. `cargo demo -- --speed 60` hands on the dashes that were meant for cargo.
fn arguments() -> Vec<OsString> {
    let mut arguments: Vec<OsString> = std::env::args_os().collect();
    if arguments.get(1).is_some_and(|word| word == "demo") && arguments.get(2).is_some_and(|word| word == "--") {
        arguments.remove(2);
    }
    arguments
}
