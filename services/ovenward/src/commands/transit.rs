//! `transit`: the run of a travelling logger, laid on the zones, kept and compared.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::PathBuf;
use std::sync::Arc;

use anyhow::Context;
use clap::{Args, Subcommand, ValueEnum};
use physics::units::MetrePerMinute;
use reading::LineIndex;
use store::Store;

use crate::cli::moment;
use crate::config::Settings;
use crate::failure::Failure;
use crate::normal_files::NormalFiles;
use crate::transit::{
    FileColumns, KeptRuns, LoggerFile, Naming, ReviewInput, RunReview, read_samples, review, write_comparison,
    write_list, write_page, write_review,
};

/// A file to look at, or what is kept.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct TransitArguments {
    #[command(subcommand)]
    kept: Option<Kept>,
    #[command(flatten)]
    run: RunArguments,
}

#[derive(Debug, Subcommand)]
enum Kept {
    /// List the runs that are kept.
    List,
    /// Show what changed from run A to run B.
    Compare {
        /// Id of a run, or a part of it that no other has.
        a: String,
        /// Id of another.
        b: String,
    },
    /// Show a run that is kept.
    Show {
        /// Its id, or a part of it that no other has.
        id: String,
        /// How it is written.
        #[arg(long, value_enum, default_value_t = TransitFormat::Text)]
        format: TransitFormat,
        /// Into this file instead of stdout.
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
}

#[derive(Debug, Args)]
struct RunArguments {
    /// The logger's file: CSV with a header.
    #[arg(value_name = "FILE")]
    file: Option<PathBuf>,
    /// The oven that it went through; not needed where there is only one.
    #[arg(long)]
    line: Option<String>,
    /// The product on the band, instead of what is stored.
    #[arg(long)]
    product: Option<String>,
    /// Band speed, m/min, instead of what is stored.
    #[arg(long, value_name = "M/MIN")]
    speed: Option<f64>,
    /// When it entered the oven (RFC 3339), instead of when it got warm.
    #[arg(long, value_name = "TIME")]
    entered: Option<String>,
    /// Places of the steam injectors, m from the mouth: tells which gave nothing.
    #[arg(long, value_name = "M,M,...", value_delimiter = ',')]
    injectors: Vec<f64>,
    #[command(flatten)]
    columns: FileColumns,
    /// How it is written.
    #[arg(long, value_enum, default_value_t = TransitFormat::Text)]
    format: TransitFormat,
    /// Into this file instead of stdout.
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum TransitFormat {
    /// For people.
    Text,
    /// For programs.
    Json,
    /// A page with pictures that needs nothing else.
    Html,
}

/// Looks at a file and keeps it, or at what is kept.
///
/// # Errors
/// A file that cannot be read, samples that are no journey through the oven, an unknown line or run.
pub fn transit(settings: &Settings, arguments: &TransitArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let kept = KeptRuns::new(&settings.data_dir);
    let calendar = &settings.plant.shifts;
    match &arguments.kept {
        None => review_file(settings, &arguments.run, &kept, out),
        Some(Kept::List) => {
            let runs = kept.all()?;
            if runs.is_empty() {
                return Err(Failure::NoData("no run is kept; look at one with `ovenward transit FILE`".into()));
            }
            Ok(write_list(&runs, calendar, out)?)
        }
        Some(Kept::Compare { a, b }) => {
            let (a, b) = (find(&kept, a)?, find(&kept, b)?);
            Ok(write_comparison(&a, &b, calendar, out)?)
        }
        Some(Kept::Show { id, format, out: path }) => write(settings, &find(&kept, id)?, *format, path.as_ref(), out),
    }
}

fn find(kept: &KeptRuns, id: &str) -> Result<RunReview, Failure> {
    kept.find(id).map_err(Failure::Usage)
}

fn review_file(
    settings: &Settings,
    arguments: &RunArguments,
    kept: &KeptRuns,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let plant = Arc::new(settings.plant.clone());
    let Some(file) = &arguments.file else {
        return Err(Failure::usage("write the logger's file, or list, show or compare"));
    };
    let line = line(settings, arguments.line.as_deref())?;
    if arguments.speed.is_some_and(|speed| !(0.01..=60.0).contains(&speed)) {
        return Err(Failure::usage("--speed is a band speed of 0.01 to 60 m/min"));
    }
    if let Some(code) = arguments.product.as_deref().filter(|code| plant.product(code).is_none()) {
        let known: Vec<&str> = plant.products.iter().map(|product| &*product.code).collect();
        return Err(Failure::usage(format!("there is no product {code:?}; write one of {}", known.join(", "))));
    }
    let entered = arguments.entered.as_deref().map(|text| moment(text, settings)).transpose();
    let entered = entered.map_err(|error| Failure::usage(format!("--entered {error}")))?;
    let name = file.display().to_string();
    let opened = File::open(file).with_context(|| format!("cannot read {name}")).map_err(Failure::Usage)?;
    let LoggerFile { samples, left_out } =
        read_samples(&name, opened, &arguments.columns, plant.shifts.time_zone(), plant.pressure)
            .map_err(Failure::Usage)?;
    if let Some((count, first)) = left_out {
        tracing::warn!("{name}: {count} rows left out; {first}");
    }
    let store = Store::open(&settings.data_dir, &plant)?;
    let normals = NormalFiles::new(&settings.data_dir).approved(&plant)?;
    let run = review(&ReviewInput {
        store: &store,
        normals: &normals,
        plant: &plant,
        settings,
        line,
        samples: &samples,
        entered,
        speed: arguments.speed.map(MetrePerMinute),
        product: arguments.product.as_deref(),
        injectors: &arguments.injectors,
        naming: Naming::Options,
    })?;
    let path = kept.keep(&run)?;
    tracing::info!("kept in {}", path.display());
    write(settings, &run, arguments.format, arguments.out.as_ref(), out)
}

/// The line that is named, or the only one.
fn line(settings: &Settings, named: Option<&str>) -> Result<LineIndex, Failure> {
    match super::learn::lines(settings, named)?.as_slice() {
        [line] => Ok(*line),
        several => {
            let ids: Vec<&str> = several.iter().map(|line| &*settings.plant.lines[line.0].id).collect();
            Err(Failure::usage(format!("write --line with one of {}", ids.join(", "))))
        }
    }
}

fn write(
    settings: &Settings,
    run: &RunReview,
    format: TransitFormat,
    path: Option<&PathBuf>,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let Some(path) = path else { return Ok(write_to(settings, run, format, out)?) };
    let file = File::create(path).with_context(|| format!("cannot write {}", path.display()))?;
    let mut file = BufWriter::new(file);
    write_to(settings, run, format, &mut file)?;
    Ok(file.flush()?)
}

fn write_to(settings: &Settings, run: &RunReview, format: TransitFormat, out: &mut dyn Write) -> std::io::Result<()> {
    match format {
        TransitFormat::Text => write_review(run, &settings.plant.shifts, out),
        TransitFormat::Html => write_page(run, &settings.plant.shifts, out),
        TransitFormat::Json => {
            serde_json::to_writer_pretty(&mut *out, run)?;
            writeln!(out)
        }
    }
}
