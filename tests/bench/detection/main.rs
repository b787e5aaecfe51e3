//! How good detection is: runs the labelled benchmark, records it for other methods, and reports them all.

mod load;
#[path = "../../flow/process.rs"]
mod process;
mod record;
mod report;
mod serve;
mod table;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use alert::DetectionSettings;
use anyhow::Result;
use clap::Parser;
use detection_benchmark::ovens::{self, Oven};
use detection_benchmark::score::Score;
use detection_benchmark::seeds::SeedSet;
use detection_benchmark::stream::{self, Length, Outcome};

use record::WindowFile;

/// Runs the labelled benchmark of detection.
#[derive(Debug, Parser)]
struct Arguments {
    /// Run the tuning seeds instead of the publishing ones.
    #[arg(long)]
    tuning: bool,
    /// Only ovens whose name contains this.
    #[arg(long, default_value = "")]
    oven: String,
    /// Print every event that was missed or wrongly named, and every false alarm.
    #[arg(long)]
    list: bool,
    /// Ovens run at a time.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Leave windows, labels and alarms in this folder for other methods.
    #[arg(long, value_name = "FOLDER")]
    record: Option<PathBuf>,
    /// Run nothing: report on what was recorded in this folder, other methods included.
    #[arg(long, value_name = "FOLDER")]
    score: Option<PathBuf>,
    /// Where the report goes, with --score.
    #[arg(long, value_name = "FOLDER", default_value = "tests/bench/detection")]
    report: PathBuf,
    /// Run nothing of the benchmark: this many lines at 1 Hz in one thread, for the time it takes.
    #[arg(long, value_name = "LINES", num_args = 0..=1, default_missing_value = "200")]
    load: Option<usize>,
    /// Run nothing of the benchmark: how long alerts take through a broker and this `ovenward` program.
    #[arg(long, value_name = "PROGRAM")]
    serve: Option<PathBuf>,
}

fn main() -> Result<()> {
    let arguments = Arguments::parse();
    let mut out = std::io::stdout().lock();
    if let Some(lines) = arguments.load {
        return load::run(lines, &mut out);
    }
    if let Some(program) = &arguments.serve {
        return serve::run(program, &mut out);
    }
    if let Some(folder) = &arguments.score {
        let (outcomes, others) = (record::read_outcomes(folder)?, record::read_alarms(folder)?);
        return report::write(&outcomes, &others, &arguments.report, &mut out);
    }
    let seeds = if arguments.tuning { SeedSet::Tuning } else { SeedSet::Publishing };
    let began = Instant::now();
    let outcomes = run_all(&arguments, seeds)?;
    if let Some(folder) = &arguments.record {
        record::write_outcomes(folder, &outcomes)?;
    }
    let score = Score::of(&outcomes, |outcome| &outcome.alarms);
    for outcome in &outcomes {
        for (product, why) in &outcome.normals {
            if let Some(why) = why {
                writeln!(out, "{}: no normal for {product}: {why}", outcome.oven)?;
            }
        }
    }
    table::write(&score, &mut out)?;
    if arguments.list {
        table::list(&score, &mut out)?;
    }
    writeln!(out, "\n{seeds:?} seeds; {:.0} s", began.elapsed().as_secs_f64())?;
    Ok(())
}

/// Runs the ovens that were asked for, some at a time; the outcomes come in the order of the ovens.
fn run_all(arguments: &Arguments, seeds: SeedSet) -> Result<Vec<Outcome>> {
    let ovens: Vec<(usize, Oven)> =
        ovens::all().into_iter().enumerate().filter(|(_, oven)| oven.name.contains(&arguments.oven)).collect();
    let next = AtomicUsize::new(0);
    let outcomes = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..arguments.threads.max(1) {
            scope.spawn(|| {
                while let Some((nth, oven)) = ovens.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let outcome = run_one(oven, *nth, seeds, arguments.record.as_deref());
                    if let Ok(mut outcomes) = outcomes.lock() {
                        outcomes.push((*nth, outcome));
                    }
                }
            });
        }
    });
    let mut outcomes = outcomes.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    outcomes.sort_by_key(|(nth, _)| *nth);
    outcomes.into_iter().map(|(_, outcome)| outcome).collect()
}

fn run_one(oven: &Oven, nth: usize, seeds: SeedSet, record: Option<&Path>) -> Result<Outcome> {
    let (length, settings) = (Length::default(), DetectionSettings::default());
    let Some(folder) = record else { return stream::run(oven, seeds.seed(nth), length, settings, |_| ()) };
    let mut file = WindowFile::create(folder, nth, oven.bakery.lines[0].zones.len())?;
    let outcome = stream::run(oven, seeds.seed(nth), length, settings, |window| file.keep(window))?;
    file.finish()?;
    Ok(outcome)
}
