//! What detection costs, and how long the reading that decides takes to become an alert.

use std::io::Write;
use std::sync::Arc;
use std::time::{Duration, Instant};

use alert::{DetectionSettings, LineEvent, Normals, Watch};
use anyhow::Result;
use bakehouse::{Bakery, Draw, RateChange, Response, Schedule, Simulation, What};
use chrono::{DateTime, TimeDelta, Utc};
use detection_benchmark::{plant, stream};
use reading::{LineIndex, Reading, SignalId, WindowBuilder};

/// How long the plant is watched.
const WATCHED: TimeDelta = TimeDelta::minutes(100);
/// When every line's band goes faster.
const RISE_AT: TimeDelta = TimeDelta::minutes(50);
/// Lines that are simulated; the others repeat them.
const SIMULATED: usize = 4;

/// Watches so many lines, each signal at 1 Hz, in one thread.
///
/// # Errors
/// The bakery cannot be simulated.
pub(crate) fn run(lines: usize, out: &mut impl Write) -> Result<()> {
    let mut bakery = Bakery::millbrook_single();
    bakery.lines[0].products.truncate(1);
    let learned = learn(&bakery)?;
    let model = bakery.lines[0].clone();
    bakery.lines =
        (0..lines).map(|nth| bakehouse::Line { id: format!("tunnel-{nth}").into(), ..model.clone() }).collect();
    let plant = Arc::new(plant::plant(&bakery));
    let per_line = plant.signals.len() / lines;
    let simulated = simulate(&bakery)?;
    let normals = (0..lines).flat_map(|line| {
        learned.iter().map(move |((_, product), normal)| ((LineIndex(line), product.clone()), normal.clone()))
    });
    let mut watch = Watch::new(plant, normals.collect(), DetectionSettings::default());
    let (mut busy, mut deciding, mut readings) = (Duration::ZERO, Vec::new(), 0_u64);
    for reading in &simulated {
        let (of, signal) = (reading.signal.0 as usize / per_line, reading.signal.0 as usize % per_line);
        for line in (of..lines).step_by(SIMULATED) {
            let reading = Reading { signal: SignalId((line * per_line + signal) as u32), ..reading.clone() };
            let pushed = Instant::now();
            let events = watch.push(&reading);
            let took = pushed.elapsed();
            busy += took;
            readings += 1;
            if events.iter().any(|event| matches!(event.what, LineEvent::Raised(_))) {
                deciding.push(took);
            }
        }
    }
    deciding.sort();
    let seconds = WATCHED.num_seconds() as f64;
    writeln!(out, "{lines} lines, {} signals at 1 Hz, {readings} readings, one thread", lines * per_line)?;
    writeln!(out, "{:.4} CPU s for each second of plant time", busy.as_secs_f64() / seconds)?;
    writeln!(
        out,
        "from the deciding reading to the alert, {} alerts: p50 {:.3} ms, p99 {:.3} ms",
        deciding.len(),
        percentile(&deciding, 0.5),
        percentile(&deciding, 0.99)
    )?;
    Ok(())
}

/// What this share of the times, in ascending order, does not exceed, ms.
pub(crate) fn percentile(sorted: &[Duration], share: f64) -> f64 {
    let at = ((sorted.len() as f64 - 1.0) * share).round().max(0.0) as usize;
    sorted.get(at).map_or(f64::NAN, |took| took.as_secs_f64() * 1e3)
}

/// The normals of the one line of this bakery, from two days.
fn learn(bakery: &Bakery) -> Result<Normals> {
    let start: DateTime<Utc> = "2026-05-20T07:00:00Z".parse()?;
    let until = start + TimeDelta::hours(48);
    let schedule = Schedule::drawn(bakery, &Draw { weekly_rest: false, ..Draw::default() }, 1, start, until);
    let plant = Arc::new(plant::plant(bakery));
    let settings = DetectionSettings::default();
    let mut builder = WindowBuilder::new(plant.clone(), LineIndex(0), settings.window);
    let mut windows = Vec::new();
    let mut simulation = Simulation::new(bakery.clone(), &schedule, 1, start, Duration::from_secs(10))?;
    for reading in simulation.until(until).filter_map(|said| plant::reading(&plant.signals, &said)) {
        builder.push(&reading);
        windows.extend(std::iter::from_fn(|| builder.next_closed()));
    }
    Ok(stream::learn(&plant, &windows, &settings).0)
}

/// The readings of the first few lines, all with a rise that nobody meets.
fn simulate(bakery: &Bakery) -> Result<Vec<Reading>> {
    let few = Bakery { lines: bakery.lines.iter().take(SIMULATED).cloned().collect(), ..bakery.clone() };
    let start: DateTime<Utc> = "2026-06-01T07:00:00Z".parse()?;
    let mut schedule = Schedule::quiet();
    for line in &few.lines {
        let rise = RateChange::sudden(14.0, TimeDelta::minutes(90), Response::NoVenting);
        schedule.add(&line.id, start + RISE_AT, What::RateChange(rise));
    }
    let signals = plant::plant(&few).signals;
    let mut simulation = Simulation::new(few, &schedule, 1, start, Duration::from_secs(1))?;
    Ok(simulation.until(start + WATCHED).filter_map(|said| plant::reading(&signals, &said)).collect())
}
