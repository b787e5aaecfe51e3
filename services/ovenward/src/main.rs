//! The program `ovenward`.

use std::io::{self, Write};
use std::process::ExitCode;

use clap::Parser;
use ovenward::cli::Cli;

fn main() -> ExitCode {
    let mut out = io::BufWriter::new(io::stdout().lock());
    let result = Cli::parse().run(&mut out);
    // A reader that has gone away (`| head`) wants no more.
    let _ = out.flush();
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            let _ = writeln!(io::stderr(), "ovenward: {failure}");
            ExitCode::from(failure.status())
        }
    }
}
