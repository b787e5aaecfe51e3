//! The program `ovenward`.

use std::cell::Cell;
use std::ffi::OsString;
use std::io::{self, ErrorKind, Write};
use std::process::ExitCode;

use clap::Parser;
use ovenward::cli::Cli;
use ovenward::failure::Failure;

fn main() -> ExitCode {
    let reader_left = Cell::new(false);
    let mut out = io::BufWriter::new(Results { to: io::stdout().lock(), reader_left: &reader_left });
    let result = Cli::parse_from(arguments()).run(&mut out);
    let result = result.and_then(|()| Ok(out.flush()?));
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(_) if reader_left.get() => ExitCode::SUCCESS,
        Err(failure) => {
            // Faults of a config begin with file and line, where editors look for them.
            let name = if matches!(failure, Failure::Config(_)) { "" } else { "ovenward: " };
            let _ = writeln!(io::stderr(), "{name}{failure}");
            ExitCode::from(failure.status())
        }
    }
}

/// Standard output. It remembers that its reader has gone away (`| head`): who wants no more was served.
struct Results<'a, W> {
    to: W,
    reader_left: &'a Cell<bool>,
}

impl<W: Write> Write for Results<'_, W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.to.write(bytes).inspect_err(|error| self.note(error))
    }

    fn flush(&mut self) -> io::Result<()> {
        self.to.flush().inspect_err(|error| self.note(error))
    }
}

impl<W> Results<'_, W> {
    fn note(&self, error: &io::Error) {
        if error.kind() == ErrorKind::BrokenPipe {
            self.reader_left.set(true);
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
