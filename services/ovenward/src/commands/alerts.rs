//! `ovenward alerts`: what was raised, and what people have to say about it.

mod answer;
mod figures;
mod find;
mod list;
mod rates;
mod scope;
mod show;
mod suppress;

use std::io::Write;
use std::sync::Arc;

use clap::{Args, Subcommand};
use store::Store;

use super::TextOrJson;
use crate::alert_desk::{AlertDesk, Person};
use crate::config::Settings;
use crate::failure::Failure;
use crate::service::PlantClock;

pub(crate) use figures::write_figures;

/// Lists alerts if nothing else is said.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct AlertsArguments {
    #[command(flatten)]
    list: list::ListArguments,
    #[command(subcommand)]
    what: Option<AlertsCommand>,
}

#[derive(Debug, Subcommand)]
enum AlertsCommand {
    /// Say that somebody sees to these alerts.
    Acknowledge(answer::AcknowledgeArguments),
    /// Add what there is to say to an alert, also after its end.
    Comment(answer::CommentArguments),
    /// Keep a kind of alert quiet on a line until a time; it comes back by itself.
    Shelve(suppress::ShelveArguments),
    /// End the time on the shelf.
    Unshelve(suppress::ReleaseArguments),
    /// Keep a kind of alert quiet on a line until it is put back in service.
    OutOfService(suppress::OutOfServiceArguments),
    /// Put a kind of alert back in service.
    InService(suppress::ReleaseArguments),
    /// What is shelved or out of service, by whom and why.
    Suppressed {
        /// How it is printed.
        #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
        format: TextOrJson,
    },
    /// One alert, its evidence, its advice and everything that was done about it.
    Show {
        /// The alert's id, or its beginning or end.
        id: String,
        /// How it is printed.
        #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
        format: TextOrJson,
    },
    /// How often alerts called, by line and shift, against the targets of ISA-18.2.
    Rates(rates::RatesArguments),
}

/// Who does it, and how the outcome is printed.
#[derive(Debug, Args)]
struct ByArguments {
    /// Who does it; it is kept with the alert.
    #[arg(long, value_name = "NAME")]
    by: String,
    /// How the outcome is printed.
    #[arg(long, value_enum, default_value_t = TextOrJson::Text)]
    format: TextOrJson,
}

/// Lists alerts, or does what is asked about them; also while the service runs.
///
/// # Errors
/// There is no such alert, what is asked is not possible, or the store cannot be used.
pub fn alerts(settings: &Settings, arguments: &AlertsArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let plant = Arc::new(settings.plant.clone());
    let store = Store::open(&settings.data_dir, &plant)?;
    let desk = AlertDesk::new(settings, plant, store.clone());
    let office = Office { settings, store, desk, clock: PlantClock::Machine };
    // Where no service runs, nobody else would note that the time of a shelf is over.
    office.desk.release_what_is_over(office.clock.now())?;
    match &arguments.what {
        None => list::list(&office, &arguments.list, out),
        Some(AlertsCommand::Acknowledge(arguments)) => answer::acknowledge(&office, arguments, out),
        Some(AlertsCommand::Comment(arguments)) => answer::comment(&office, arguments, out),
        Some(AlertsCommand::Shelve(arguments)) => suppress::shelve(&office, arguments, out),
        Some(AlertsCommand::Unshelve(arguments)) => suppress::unshelve(&office, arguments, out),
        Some(AlertsCommand::OutOfService(arguments)) => suppress::out_of_service(&office, arguments, out),
        Some(AlertsCommand::InService(arguments)) => suppress::in_service(&office, arguments, out),
        Some(AlertsCommand::Suppressed { format }) => suppress::list(&office, *format, out),
        Some(AlertsCommand::Show { id, format }) => show::show(&office, id, *format, out),
        Some(AlertsCommand::Rates(arguments)) => rates::rates(&office, arguments, out),
    }
}

/// What every command about alerts works with.
struct Office<'a> {
    settings: &'a Settings,
    store: Store,
    desk: AlertDesk,
    clock: PlantClock,
}

impl Office<'_> {
    fn person<'a>(&self, by: &'a ByArguments) -> Result<Person<'a>, Failure> {
        Person::new(&by.by, self.clock.now())
    }
}
