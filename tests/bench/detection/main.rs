//! How good detection is: runs the labelled benchmark and reports it.

mod table;

use std::io::Write;
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
}

fn main() -> Result<()> {
    let arguments = Arguments::parse();
    let seeds = if arguments.tuning { SeedSet::Tuning } else { SeedSet::Publishing };
    let began = Instant::now();
    let outcomes = run_all(&arguments, seeds)?;
    let mut score = Score::default();
    for outcome in &outcomes {
        score.add(outcome, &outcome.alarms);
    }
    let mut out = std::io::stdout().lock();
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
                    let outcome =
                        stream::run(oven, seeds.seed(*nth), Length::default(), DetectionSettings::default(), |_| ());
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
