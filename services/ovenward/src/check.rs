//! `ovenward check`: the config held against its rules, and what it comes to.

use std::io::Write;
use std::path::Path;

use reading::{Line, LineIndex, Plant};

use crate::config::{self, Settings};
use crate::failure::Failure;

/// Says every fault of the config at once, or what the config comes to.
///
/// # Errors
/// The faults, or a result that cannot be written.
pub fn run(path: &Path, out: &mut dyn Write) -> Result<(), Failure> {
    let settings = config::load(path).map_err(Failure::Config)?;
    let plant = &settings.plant;
    writeln!(out, "{} is in order.", path.display())?;
    writeln!(out, "{} ({}), {:.2} kPa", plant.name, plant.site, plant.pressure.0 / 1000.0)?;
    let shifts: Vec<&str> = plant.shifts.names().map(|name| &**name).collect();
    writeln!(out, "shifts: {} ({})", shifts.join(", "), plant.shifts.time_zone())?;
    for (index, line) in plant.lines.iter().enumerate() {
        describe_line(plant, LineIndex(index), line, out)?;
    }
    describe_traffic(&settings, out)
}

fn describe_line(plant: &Plant, index: LineIndex, line: &Line, out: &mut dyn Write) -> Result<(), Failure> {
    let signals = plant.signals.of_line(index).count();
    writeln!(out, "{}: {:.1} m in {} zones, {signals} signals", line.id, line.length().0, line.zones.len())?;
    for product in &plant.products {
        let Some(minutes) = product.bake_time_min else { continue };
        let speed = line.speed_for_bake_time(minutes).0;
        writeln!(out, "  {} bakes {minutes:.0} min at {speed:.2} m/min", product.code)?;
    }
    Ok(())
}

fn describe_traffic(settings: &Settings, out: &mut dyn Write) -> Result<(), Failure> {
    let plant = &settings.plant;
    let broker = &settings.broker;
    writeln!(out, "reads {} topics at {}:{}", plant.signals.topics().len(), broker.host, broker.port)?;
    writeln!(out, "writes {}/{}/... and nothing else", settings.publish.root, plant.site)?;
    writeln!(out, "keeps data in {}", settings.data_dir.display())?;
    Ok(())
}
