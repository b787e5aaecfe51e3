//! `ovenward user`: who may use the console and the API.

use std::io::{BufRead, Write};

use chrono::{DateTime, Utc};
use clap::{Args, Subcommand};
use store::Store;
use web::sign_in::{Entry, Role, UserBook, UserBookError};

use super::learn::person;
use crate::cli::moment;
use crate::config::Settings;
use crate::failure::Failure;
use crate::service::{PlantClock, users_file};

/// What to do with users.
#[derive(Debug, Subcommand)]
pub enum UserCommand {
    /// Add somebody, or give them another role and password; the password is read from stdin, one line.
    Add(AddArguments),
    /// List people and tokens.
    List,
    /// Remove somebody or a token; who is signed in is signed out.
    Remove {
        /// The name.
        name: String,
    },
}

/// Who is added.
#[derive(Debug, Args)]
pub struct AddArguments {
    /// The name, as it will stand beside what they do.
    name: String,
    /// viewer looks; lead answers alerts; engineer approves normals; admin sees who changed what.
    #[arg(long)]
    role: Role,
    /// Not a person but a program: a token is made and printed, once.
    #[arg(long, requires = "until")]
    token: bool,
    /// When the token ends: RFC 3339, or a local date.
    #[arg(long, requires = "token", value_name = "TIME")]
    until: Option<String>,
}

/// Does what was asked with users.
///
/// # Errors
/// A name, password or time that will not do, nobody of this name, or files that cannot be used.
pub fn user(settings: &Settings, what: &UserCommand, out: &mut dyn Write) -> Result<(), Failure> {
    let path = users_file(&settings.data_dir);
    let mut book = UserBook::read(&path)?;
    let said = match what {
        UserCommand::List => return list(&book, out),
        UserCommand::Add(arguments) => add(settings, &mut book, arguments, out)?,
        UserCommand::Remove { name } if book.remove(name) => format!("{name} is removed"),
        UserCommand::Remove { name } => {
            return Err(Failure::NoData(format!("there is no {name}; `ovenward user list` lists them")));
        }
    };
    book.write(&path)?;
    let store = Store::open(&settings.data_dir, &settings.plant)?;
    store.record_audit(PlantClock::Machine.now(), &person(), &said)?;
    Ok(writeln!(out, "{said}")?)
}

fn add(
    settings: &Settings,
    book: &mut UserBook,
    arguments: &AddArguments,
    out: &mut dyn Write,
) -> Result<String, Failure> {
    let AddArguments { name, role, until, .. } = arguments;
    let usage = |error: UserBookError| Failure::usage(error.to_string());
    let Some(until) = until else {
        tracing::info!("the password of {name}, one line:");
        let mut password = String::new();
        std::io::stdin().lock().read_line(&mut password)?;
        book.add_person(name, *role, password.trim_end_matches(['\r', '\n'])).map_err(usage)?;
        return Ok(format!("{name} may sign in as {role}"));
    };
    let end = moment(until, settings).map_err(|error| Failure::usage(format!("--until {error}")))?;
    let end: DateTime<Utc> = end.to_utc().ok_or_else(|| Failure::usage(format!("--until {until} is too far away")))?;
    let token = book.add_token(name, *role, end).map_err(usage)?;
    writeln!(out, "{token}")?;
    Ok(format!("{name} may come as {role} with this token until {}", end.to_rfc3339()))
}

fn list(book: &UserBook, out: &mut dyn Write) -> Result<(), Failure> {
    if book.is_empty() {
        return Err(Failure::NoData("there are no users; the console is for this machine alone".into()));
    }
    for Entry { name, role, until } in book.entries() {
        let how = until.map_or_else(|| "signs in".into(), |until| format!("token until {}", until.to_rfc3339()));
        writeln!(out, "{name:<24} {:<10} {how}", role.name())?;
    }
    Ok(())
}
