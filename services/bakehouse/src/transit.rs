//! `bakehouse transit`: the run of a travelling logger, invented, in a file.

use std::fs::File;
use std::io::{BufWriter, Write};

use anyhow::{Context, Result};
use chrono::{SecondsFormat, TimeDelta};
use physics::units::Metre;

use crate::arguments::Transit;

pub(crate) fn write(asked: &Transit) -> Result<()> {
    let lasts = TimeDelta::milliseconds((asked.days * 86_400_000.0) as i64);
    let bakery = asked.plant.bakery();
    let line = bakery.lines.iter().position(|line| *line.id == *asked.line);
    let line = line.with_context(|| format!("the bakery has no line {}", asked.line))?;
    let pressure = physics::air::station_pressure(Metre(bakery.elevation_m))?;
    let mut simulation = asked.plant.start(asked.from, lasts)?;
    let samples = bakehouse::travel(&mut simulation, line, asked.enters, asked.dead_injector, pressure)
        .context("the band carried no logger through the oven within four hours")?;
    let name = asked.out.display();
    let file = File::create(&asked.out).with_context(|| format!("can't create {name}"))?;
    let mut out = BufWriter::new(file);
    let mut write = || -> std::io::Result<()> {
        writeln!(out, "time,air_temperature,dew_point")?;
        for sample in &samples {
            let time = sample.time.to_rfc3339_opts(SecondsFormat::Secs, true);
            writeln!(out, "{time},{:.1},{:.1}", sample.temperature_c, sample.dew_point_c)?;
        }
        out.flush()
    };
    write().with_context(|| format!("can't write {name}"))?;
    tracing::info!(samples = samples.len(), file = %name, "invented run of a logger written");
    Ok(())
}
