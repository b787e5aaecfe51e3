//! `ovenward sql`: the database of `[sql]`, by hand; and what `check --connect` says of it.

use std::io::Write;
use std::sync::Arc;

use clap::{Args, Subcommand};
use reading::{LineIndex, Plant, ShiftInstance, Span};
use sql::{Connection, Look, SchemaState};
use store::{AlertQuery, Store};
use tokio::runtime::Runtime;

use crate::cli::Period;
use crate::config::{Settings, SqlSettings};
use crate::database::{DatabaseWriter, finished};
use crate::failure::Failure;

/// What to do with the database.
#[derive(Debug, Subcommand)]
pub enum SqlCommand {
    /// Write shifts, energy, alerts and rate changes of a time again, in place of what is there: after readings came late,
    /// or a normal was approved. What is not over yet is left to the service.
    Push(PushArguments),
}

/// Which rows.
#[derive(Debug, Args)]
pub struct PushArguments {
    #[command(flatten)]
    period: Period,
    /// Only of this line.
    #[arg(long)]
    line: Option<String>,
}

/// Does what was asked with the database.
///
/// # Errors
/// The config names none, it cannot be written to, or there is nothing to write.
pub fn sql(settings: &Settings, what: &SqlCommand, out: &mut dyn Write) -> Result<(), Failure> {
    let SqlCommand::Push(arguments) = what;
    let Some(database) = settings.sql.clone() else {
        return Err(Failure::usage("the config has no section [sql]; write one with the url of a database"));
    };
    let plant = Arc::new(settings.plant.clone());
    let store = Store::open(&settings.data_dir, &plant)?;
    let push = Push::of(settings, arguments, &plant, &store)?;
    let writer = DatabaseWriter::new(Arc::new(settings.clone()), database.clone(), plant.clone(), store.clone());
    Runtime::new()?.block_on(push.run(&database, &plant, &store, writer, out))
}

/// What is to be written again.
struct Push {
    lines: Vec<LineIndex>,
    shifts: Vec<ShiftInstance>,
    alerts: AlertQuery,
}

impl Push {
    fn of(settings: &Settings, arguments: &PushArguments, plant: &Plant, store: &Store) -> Result<Self, Failure> {
        let lines = super::learn::lines(settings, arguments.line.as_deref())?;
        let (from, to) = arguments.period.ends(settings)?;
        let (oldest, newest) = store.span()?.ok_or_else(|| Failure::NoData("the store is empty".into()))?;
        let (first, last) = (from.unwrap_or(oldest).max(oldest), to.unwrap_or(newest + Span(1)).min(newest + Span(1)));
        let mut shifts = finished(plant, first, last, newest);
        // Of a shift that began before the oldest reading the database may have more than the store has left.
        shifts.retain(|shift| shift.starts >= oldest);
        let alerts = AlertQuery { from, to, line: arguments.line.clone(), state: None };
        Ok(Self { lines, shifts, alerts })
    }

    async fn run(
        self,
        database: &SqlSettings,
        plant: &Plant,
        store: &Store,
        mut writer: DatabaseWriter,
        out: &mut dyn Write,
    ) -> Result<(), Failure> {
        let mut connection = Connection::open(&database.address).await?;
        connection.migrate().await?;
        for &line in &self.lines {
            for table in writer.tables() {
                let mut rows = 0;
                for shift in &self.shifts {
                    rows += writer.write_shift(&mut connection, table, line, shift, false).await?;
                }
                let id = &plant.lines[line.0].id;
                writeln!(out, "{} of {id}: {rows} rows of {} shifts", table.name, self.shifts.len())?;
            }
        }
        if database.alerts {
            let alerts = store.alerts(&self.alerts)?;
            for some in alerts.chunks(ALERTS_AT_ONCE) {
                writer.write_alerts(&mut connection, some.to_vec(), None).await?;
            }
            writeln!(out, "alert: {} rows", alerts.len())?;
        }
        if database.rate_changes {
            let changed = writer.write_rate_changes(&mut connection).await?;
            writeln!(out, "rate_change: {changed} rows were not there as they are")?;
        }
        Ok(())
    }
}

/// Alerts in one transaction.
const ALERTS_AT_ONCE: usize = 200;

/// Looks whether the database of `[sql]` can be written to, and changes nothing.
///
/// # Errors
/// It cannot, with what to look at.
pub fn check_database(settings: &Settings, out: &mut dyn Write) -> Result<(), Failure> {
    let Some(database) = &settings.sql else { return Ok(()) };
    let address = &database.address;
    let Look { server, schema } = Runtime::new()?.block_on(sql::look(address))?;
    let how = if address.is_encrypted() { "encrypted, its certificate is in order" } else { "unencrypted" };
    let tables = match schema {
        SchemaState::ToBeMade => "our tables are not there yet, and will be made by the service".into(),
        SchemaState::ToBeMigrated { from } => format!("our tables have version {from}, and will be brought to ours"),
        SchemaState::Current { version } => format!("our tables are there in version {version}"),
    };
    writeln!(out, "The database {address} lets {} in: PostgreSQL {server}, {how}; {tables}.", address.user())?;
    Ok(())
}
