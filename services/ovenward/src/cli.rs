//! The command line: its words and where each leads.

use std::io::Write;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use reading::Timestamp;

use crate::commands;
use crate::config::{self, Settings};
use crate::failure::Failure;
use crate::{air, check, data_owner, demo, telemetry};

/// Listens to tunnel ovens and says when one is overloaded.
///
/// Advice only: the program never writes to a control system.
#[derive(Debug, Parser)]
#[command(version, propagate_version = true)]
pub struct Cli {
    #[command(flatten)]
    common: Common,
    #[command(subcommand)]
    command: Command,
}

/// Options of every command.
#[derive(Debug, Args)]
pub struct Common {
    /// The config file.
    #[arg(
        long,
        global = true,
        env = "OVENWARD_CONFIG",
        default_value = "/etc/ovenward/plant.toml",
        value_name = "FILE"
    )]
    pub config: PathBuf,
    /// Where data is kept, instead of where the config says.
    #[arg(long, global = true, value_name = "DIR")]
    pub data_dir: Option<PathBuf>,
    /// How logs are written: to stderr, or to the journal of systemd.
    #[arg(long, global = true, value_enum, default_value_t = LogFormat::Text)]
    pub log_format: LogFormat,
}

/// How logs are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LogFormat {
    /// For people.
    Text,
    /// One JSON object a line.
    Json,
    /// To the journal of systemd, each with its level.
    Journal,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// A whole invented bakery on this machine: broker, ovens, history, service; Ctrl-C ends it all.
    Demo(demo::DemoArguments),
    /// Run the service.
    Serve(commands::ServeArguments),
    /// Read the config and say every fault at once.
    Check {
        /// Try the broker as well, whether it keeps what waits, whoever is told of alerts, the database of [sql], and the
        /// lake; nothing stays there.
        #[arg(long)]
        connect: bool,
    },
    /// Load history from files or a historian's database into the store; loading it again stores nothing new.
    Backfill(commands::BackfillArguments),
    /// Learn normals from stored history.
    Learn(commands::LearnArguments),
    /// List, show, approve or retire normals.
    Normals {
        #[command(subcommand)]
        what: Option<commands::NormalsCommand>,
    },
    /// Shift profile tables.
    Shifts(commands::ShiftsArguments),
    /// Energy records, the baseline and the saving against it.
    Energy(commands::EnergyArguments),
    /// Readings, shift tables, alerts or energy records as open files.
    Export(commands::ExportArguments),
    /// Run detection over stored history or over files, without a broker and without publishing.
    Replay(commands::ReplayArguments),
    /// What was raised; acknowledge, comment, shelve, take out of service.
    Alerts(commands::AlertsArguments),
    /// Review a rate change before it is made, and keep its record.
    Rate(commands::RateArguments),
    /// The PostgreSQL database of [sql]: write a time again after late readings.
    Sql {
        #[command(subcommand)]
        what: commands::SqlCommand,
    },
    /// What is kept and how much room it takes; verify it, back it up.
    Store(commands::StoreArguments),
    /// The lake of all plants: what of this site is there and what waits; send it, verify it.
    Lake(commands::LakeArguments),
    /// Payloads that gave no reading; read them again after the config was put right.
    Quarantine(commands::QuarantineArguments),
    /// The run of a travelling logger, laid on the zones; keep runs and compare them.
    Transit(commands::TransitArguments),
    /// Who may use the console and the API: people with a password, programs with a token.
    User {
        #[command(subcommand)]
        what: commands::UserCommand,
    },
    /// Moist-air calculator.
    Air(air::AirArguments),
}

impl Cli {
    /// Runs the command; results go to `out`.
    ///
    /// # Errors
    /// Why it did not do what was asked, with the exit status.
    pub fn run(self, out: &mut dyn Write) -> Result<(), Failure> {
        let Self { common, command } = self;
        let quiet = "warn,ovenward=info";
        // The demo tells alerts on stdout; its broker has a word for every client that looks whether it is there.
        let default = if matches!(command, Command::Demo(_)) { "error,rumqttd=off" } else { quiet };
        telemetry::start_logging(common.log_format, default);
        match command {
            Command::Demo(arguments) => demo::run(&arguments, out),
            Command::Serve(arguments) => commands::serve(&arguments, || common.settings()),
            Command::Check { connect } => {
                check::run(&common.config, out)?;
                if !connect {
                    return Ok(());
                }
                let settings = common.settings()?;
                // Whatever is wrong with one, the others are tried as well.
                let broker = commands::check_broker(&settings, out);
                let receivers = commands::check_receivers(&settings, out);
                let database = commands::check_database(&settings, out);
                Failure::all([broker, receivers, database, commands::check_lake(&settings, out)])
            }
            Command::Backfill(arguments) => commands::backfill(&common.settings()?, &arguments, out),
            Command::Learn(arguments) => commands::learn(&common.settings()?, &arguments, out),
            Command::Normals { what } => commands::normals(&common.settings()?, what.as_ref(), out),
            Command::Shifts(arguments) => commands::shifts(&common.settings()?, &arguments, out),
            Command::Energy(arguments) => commands::energy(&common.settings()?, &arguments, out),
            Command::Export(arguments) => commands::export(&common.settings()?, &arguments, out),
            Command::Replay(arguments) => commands::replay(&common.settings()?, &arguments, out),
            Command::Alerts(arguments) => commands::alerts(&common.settings()?, &arguments, out),
            Command::Rate(arguments) => commands::rate(&common.settings()?, &arguments, out),
            Command::Sql { what } => commands::sql(&common.settings()?, &what, out),
            Command::Store(arguments) => commands::store(&common.settings()?, &arguments, out),
            Command::Lake(arguments) => commands::lake(&common.settings()?, &arguments, out),
            Command::Quarantine(arguments) => commands::quarantine(&common.settings()?, &arguments, out),
            Command::Transit(arguments) => commands::transit(&common.settings()?, &arguments, out),
            Command::User { what } => commands::user(&common.settings()?, &what, out),
            Command::Air(arguments) => air::run(&arguments, out).map_err(Failure::Usage),
        }
    }
}

impl Common {
    fn settings(&self) -> Result<Settings, Failure> {
        let mut settings = config::load(&self.config).map_err(Failure::Config)?;
        if let Some(data_dir) = &self.data_dir {
            settings.data_dir.clone_from(data_dir);
        }
        data_owner::not_as_root(&settings.data_dir)?;
        Ok(settings)
    }
}

/// A stretch of time on the command line.
#[derive(Debug, Clone, Args)]
pub struct Period {
    /// From this time on: RFC 3339, or a local date (its first moment).
    #[arg(long, value_name = "TIME")]
    pub from: Option<String>,
    /// Before this time: RFC 3339, or a local date (its first moment).
    #[arg(long, value_name = "TIME")]
    pub to: Option<String>,
}

impl Period {
    /// Both ends, by the site's calendar.
    ///
    /// # Errors
    /// An end that is no time.
    pub fn ends(&self, settings: &Settings) -> Result<(Option<Timestamp>, Option<Timestamp>), Failure> {
        let read = |name: &str, text: &Option<String>| {
            text.as_ref()
                .map(|text| moment(text, settings).map_err(|error| Failure::usage(format!("{name} {error}"))))
                .transpose()
        };
        Ok((read("--from", &self.from)?, read("--to", &self.to)?))
    }
}

/// A moment on the command line: RFC 3339, or a local date (its first moment).
pub(crate) fn moment(text: &str, settings: &Settings) -> Result<Timestamp, String> {
    if let Ok(date) = text.parse() {
        return Ok(settings.plant.shifts.midnight(date));
    }
    Timestamp::parse(text).map_err(|_| format!("{text:?} is no time; write 2026-11-02 or 2026-11-02T06:00:00Z"))
}
