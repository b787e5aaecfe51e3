//! History from a historian's PostgreSQL database, chunk by chunk: each is stored, then noted, so that a load that was
//! broken off goes on where it stopped.

use std::io::Write;
use std::path::PathBuf;
use std::time::Duration;

use anyhow::Context;
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use reading::{Span, Timestamp};
use serde::{Deserialize, Serialize};
use sql::{Address, Historian, HistoryRow, SqlError};
use store::Store;
use tokio::runtime::Runtime;

use super::load::Load;
use crate::cli::Period;
use crate::commands::duration::duration;
use crate::config::Settings;
use crate::failure::Failure;
use crate::history::{Row, time_of};
use crate::service::PlantClock;

/// A time that is told as a fraction of seconds may be rounded over the edge of its chunk by this much.
const ROUNDED: Span = Span(1000);

/// A historian's database, and what to ask it.
#[derive(Debug, Args)]
pub(super) struct HistorianArguments {
    /// In place of files, a historian's PostgreSQL database: postgres://USER@HOST[:PORT]/DATABASE. It is only read.
    #[arg(long, value_name = "URL", requires = "query")]
    sql: Option<String>,
    /// Gives time, tag, value and perhaps quality of the time from $1 on and before $2: SELECT sampled_at AS time, tag_name
    /// AS tag, reading AS value FROM samples WHERE sampled_at >= $1 AND sampled_at < $2.
    #[arg(long, value_name = "SELECT", requires = "sql")]
    query: Option<String>,
    /// With --sql, without --from: the historian is asked for its oldest row, which may take long; without --to: now.
    #[command(flatten)]
    period: Period,
    /// With --sql: how much time is asked for at once, such as 1h or 30min.
    #[arg(long, value_name = "DURATION", value_parser = duration, requires = "sql", default_value = "1h")]
    chunk: Span,
    /// With --sql: a file with nothing but the password. Without it the one in the URL, or in PGPASSWORD.
    #[arg(long, value_name = "FILE", requires = "sql")]
    password_file: Option<PathBuf>,
    /// With --sql: the certificate of who signed the server's, in PEM; the way is encrypted then.
    #[arg(long, value_name = "FILE", requires = "sql")]
    ca_file: Option<PathBuf>,
    /// With --sql: where rows go that give no reading.
    #[arg(long, value_name = "FILE", requires = "sql", default_value = "historian.rejected.csv")]
    rejected: PathBuf,
}

impl HistorianArguments {
    /// Whether a historian is to be asked.
    ///
    /// # Errors
    /// A period with files, which have their own.
    pub(super) fn is_asked(&self) -> Result<bool, Failure> {
        if self.sql.is_none() && (self.period.from.is_some() || self.period.to.is_some()) {
            return Err(Failure::usage("--from and --to go with --sql; a file is loaded whole"));
        }
        Ok(self.sql.is_some())
    }

    /// Where it is, and where its password came from.
    fn address(&self) -> Result<(Address, &'static str), Failure> {
        let url = self.sql.as_deref().unwrap_or_default();
        if !url.starts_with("postgres://") && !url.starts_with("postgresql://") {
            return Err(Failure::usage(
                "--sql takes postgres://USER@HOST/DATABASE and speaks PostgreSQL alone; from any other database export \
                 time,tag,value to CSV or Parquet, and write ovenward backfill FILE",
            ));
        }
        let read = |path: &PathBuf| std::fs::read(path).with_context(|| format!("cannot read {}", path.display()));
        let authority = self.ca_file.as_ref().map(read).transpose()?;
        let address = Address::parse(url, authority.as_deref()).map_err(|error| Failure::Usage(error.into()))?;
        if let Some(file) = &self.password_file {
            let password = String::from_utf8_lossy(&read(file)?).trim_end().to_owned();
            return Ok((address.with_password(&password), "--password-file"));
        }
        if address.has_password() {
            return Ok((address, "the URL"));
        }
        match std::env::var("PGPASSWORD") {
            Ok(password) => Ok((address.with_password(&password), "PGPASSWORD")),
            Err(_) => Ok((address, "nowhere: write --password-file FILE, or set PGPASSWORD")),
        }
    }
}

/// How far a load has come, as it is noted in the store until it is whole.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Progress {
    from: Timestamp,
    done: Timestamp,
}

/// Loads what the historian has of the period.
///
/// # Errors
/// It cannot be reached or read, the query cannot be used, or the store cannot be written.
pub(super) fn load(
    settings: &Settings,
    store: &Store,
    arguments: &HistorianArguments,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let (address, password) = arguments.address()?;
    let query = arguments.query.as_deref().unwrap_or_default();
    let runtime = Runtime::new()?;
    let mut historian = runtime.block_on(Historian::open(&address, query)).map_err(|error| refused(error, password))?;
    let (from, to) = arguments.period.ends(settings)?;
    let to = to.unwrap_or_else(|| PlantClock::Machine.now());
    let from = match from {
        Some(from) => from,
        None => oldest(&runtime, &mut historian, to)?,
    };
    if from >= to {
        return Err(Failure::usage(format!("--from {from} is not before --to {to}")));
    }
    let noted = format!("backfill-sql/{address}/{query}");
    let begun: Option<Progress> = store.meta(&noted)?.and_then(|json| serde_json::from_str(&json).ok());
    let done = begun.filter(|begun| begun.from == from && begun.done < to).map(|begun| begun.done);
    let mut load = match done {
        None => Load::begin(settings, store, arguments.rejected.clone()),
        Some(done) => {
            writeln!(out, "a load that was broken off goes on at {done}")?;
            Load::resume(settings, store, arguments.rejected.clone())?
        }
    };
    let (mut starts, mut place) = (done.unwrap_or(from), 0);
    let bar = bar(from, to);
    while starts < to {
        let ends = (starts + arguments.chunk).min(to);
        let take = |row: HistoryRow| {
            place += 1;
            let time = load.take(&in_text(row, place))?;
            let inside = |time: Timestamp| time + ROUNDED >= starts && time <= ends + ROUNDED;
            if time.is_none_or(inside) { Ok(()) } else { Err(outside(time, starts, ends)) }
        };
        runtime.block_on(historian.chunk(starts, ends, take))?;
        load.settle()?;
        store.set_meta(&noted, &serde_json::to_string(&Progress { from, done: ends })?)?;
        starts = ends;
        bar.set_position((starts - from).0.unsigned_abs());
        bar.set_message(format!("{starts}, {:.0} rows/s", load.stored() as f64 / bar.elapsed().as_secs_f64()));
    }
    // It is whole: the next load of the same looks at everything again.
    store.set_meta(&noted, "")?;
    bar.finish_and_clear();
    load.finish(&address.to_string(), out)
}

fn oldest(runtime: &Runtime, historian: &mut Historian, to: Timestamp) -> Result<Timestamp, Failure> {
    let Some(oldest) = runtime.block_on(historian.oldest(to))? else {
        return Err(Failure::NoData(format!("the query gives no row from 1970 until {to}")));
    };
    time_of(&oldest).map_err(Failure::NoData)
}

fn refused(error: SqlError, password: &str) -> Failure {
    match error {
        SqlError::Query { .. } => Failure::Usage(error.into()),
        SqlError::NotLetIn { .. } => Failure::Failed(anyhow::anyhow!("{error}. The password came from {password}")),
        _ => error.into(),
    }
}

/// A row as files have it.
fn in_text(row: HistoryRow, place: u64) -> Row {
    let HistoryRow { time, tag, value, quality } = row;
    let [time, tag, value] = [time, tag, value].map(Option::unwrap_or_default);
    Row { place, time, tag, value, quality }
}

/// A query that does not keep to its chunk would be read again and again, or miss what lies at the edges.
fn outside(time: Option<Timestamp>, starts: Timestamp, ends: Timestamp) -> Failure {
    let time = time.map_or_else(String::new, |time| time.to_string());
    Failure::usage(format!(
        "the query was asked for {starts} until {ends} and gave a row of {time}\n    write: time >= $1 AND time < $2, with \
         the same expression for time that stands behind SELECT, time zone included"
    ))
}

/// How far along the time it is, on a terminal; nothing elsewhere.
fn bar(from: Timestamp, to: Timestamp) -> ProgressBar {
    let style = ProgressStyle::with_template("{elapsed} {wide_bar} {percent} % {msg}, {eta} left");
    let style = style.unwrap_or_else(|_| ProgressStyle::default_bar());
    let bar = ProgressBar::new((to - from).0.unsigned_abs()).with_style(style);
    bar.enable_steady_tick(Duration::from_millis(200));
    bar
}
