//! `ovenward learn`: normals from stored history.

mod census;

use std::collections::BTreeSet;
use std::io::Write;
use std::sync::Arc;

use balance::FitSettings;
use clap::Args;
use normal_profile::{Normal, NotEnough};
use reading::{LineIndex, RunningState, Span, Window};
use store::Store;

use super::normals::describe;
use crate::balance_files::BalanceFiles;
use crate::cli::Period;
use crate::config::Settings;
use crate::failure::Failure;
use crate::normal_files::NormalFiles;
use crate::service::PlantClock;
use crate::stored;

/// What to learn from.
#[derive(Debug, Args)]
pub struct LearnArguments {
    /// Only this line.
    #[arg(long)]
    line: Option<String>,
    /// Only this product.
    #[arg(long)]
    product: Option<String>,
    #[command(flatten)]
    period: Period,
    /// Use what was learned at once, instead of waiting for `normals approve`.
    #[arg(long)]
    approve: bool,
}

/// Learns a normal for each line and product asked for, and says what it used, left out and found.
///
/// # Errors
/// An unknown line, no product with enough baking, or store or files cannot be used.
pub fn learn(settings: &Settings, arguments: &LearnArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let plant = Arc::new(settings.plant.clone());
    let lines = lines(settings, arguments.line.as_deref())?;
    let store = Store::open(&settings.data_dir, &plant)?;
    let files = NormalFiles::new(&settings.data_dir);
    let (from, to) = arguments.period.ends(settings)?;
    let Some((first, last)) = store.span()? else { return Err(Failure::NoData("the store is empty".into())) };
    let (from, to) = (from.unwrap_or(first), to.unwrap_or(last + Span(1)));
    let mut learned = 0;
    for line in lines {
        let windows = stored::windows(&store, &plant, line, from, to, &settings.detection)?;
        let calendar = &plant.shifts;
        let (id, from, to) = (&plant.lines[line.0].id, calendar.date_and_time(from), calendar.date_and_time(to));
        writeln!(out, "{id}, {from} to {to}: {} windows", windows.len())?;
        for told in census::census(&windows) {
            writeln!(out, "  {told}")?;
        }
        writeln!(out)?;
        for product in products(&windows, arguments.product.as_deref()) {
            match learn_product(settings, &files, line, &product, &windows)? {
                Ok(normal) => {
                    learned += 1;
                    describe(&normal, None, calendar, out)?;
                    writeln!(out, "\n  {}", learn_balance(settings, &normal, &windows)?)?;
                    if arguments.approve {
                        files.approve(&normal.key().to_string(), &person(), &PlantClock::Machine.now().to_string())?;
                        writeln!(out, "  approved and in use\n")?;
                    } else {
                        writeln!(out, "  proposed; use it with: ovenward normals approve {}\n", normal.key())?;
                    }
                }
                Err(why) => {
                    writeln!(out, "{id}/{product}: no normal. {why}\n")?;
                }
            }
        }
    }
    if learned == 0 {
        return Err(Failure::NoData(format!("no normal was learned from {from} to {to}")));
    }
    Ok(())
}

/// Learns the normal of one product from the windows of its line and writes it as proposed.
///
/// # Errors
/// The file cannot be written. Too little baking is the inner error.
pub fn learn_product(
    settings: &Settings,
    files: &NormalFiles,
    line: LineIndex,
    product: &Arc<str>,
    windows: &[Window],
) -> anyhow::Result<Result<Normal, NotEnough>> {
    let plant = &settings.plant;
    let code = Some(product.clone());
    let observations = alert::history::observations(windows, &code);
    let rises = alert::history::rises(windows, &code, &plant.lines[line.0], &settings.detection);
    let key = files.next_key(&plant.site, &plant.lines[line.0].id, product)?;
    let normal = match normal_profile::learn(key, &observations, &rises, &settings.learning) {
        Ok(normal) => normal,
        Err(why) => return Ok(Err(why)),
    };
    files.write(&normal)?;
    Ok(Ok(normal))
}

/// Learns the water balance that goes with a normal from the same windows and writes it beside it; gives a line that
/// tells what came of it. That no balance can be learned hinders no normal.
///
/// # Errors
/// The file cannot be written.
pub(crate) fn learn_balance(settings: &Settings, normal: &Normal, windows: &[Window]) -> anyhow::Result<String> {
    let plant = &settings.plant;
    let key = normal.key();
    let (Some((_, line)), Some(product)) = (plant.line(&key.line), plant.product(&key.product)) else {
        return Ok(format!("no water balance: [[product]] {} is not in the config", key.product));
    };
    let (oven, bake) = match balance::inputs(line, product) {
        Ok(inputs) => inputs,
        Err(missing) => return Ok(format!("no water balance: {missing}")),
    };
    let blocks = balance::steady_blocks(windows, &product.code, oven.length_m());
    let fit = FitSettings { seed: settings.learning.seed, ..FitSettings::default() };
    match balance::learn_balance(key.clone(), &oven, &bake, &blocks, fit) {
        Ok(learned) => {
            BalanceFiles::new(&settings.data_dir).write(&learned)?;
            let data = &learned.record().data;
            Ok(format!(
                "water balance learned from {:.1} h at rest in {} runs, {:.2} to {:.2} m/min",
                data.hours, data.runs, data.slowest_m_min, data.fastest_m_min
            ))
        }
        Err(why) => Ok(format!("no water balance: {why}")),
    }
}

/// The products that were baked, or the one asked for.
pub(crate) fn products(windows: &[Window], only: Option<&str>) -> BTreeSet<Arc<str>> {
    let baked = windows.iter().filter(|window| window.state == RunningState::Baking);
    let mut products: BTreeSet<Arc<str>> = baked.filter_map(|window| window.product.clone()).collect();
    products.retain(|product| only.is_none_or(|only| **product == *only));
    // So that a product nobody baked is told with what is missing.
    products.extend(only.map(Arc::from));
    products
}

/// The line of this id, or all.
pub(super) fn lines(settings: &Settings, only: Option<&str>) -> Result<Vec<LineIndex>, Failure> {
    let plant = &settings.plant;
    match only {
        None => Ok((0..plant.lines.len()).map(LineIndex).collect()),
        Some(id) => plant.line(id).map(|(line, _)| vec![line]).ok_or_else(|| {
            let known: Vec<&str> = plant.lines.iter().map(|line| &*line.id).collect();
            Failure::usage(format!("there is no line {id:?}; write one of {}", known.join(", ")))
        }),
    }
}

/// Who is asking.
pub(super) fn person() -> String {
    std::env::var("USER").or_else(|_| std::env::var("LOGNAME")).unwrap_or_else(|_| "unnamed".into())
}
