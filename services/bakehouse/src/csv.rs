//! `bakehouse csv`: readings in a file.

use std::fs::File;
use std::io::{BufWriter, Write};

use anyhow::{Context, Result};
use bakehouse::{CSV_HEADER, write_csv_row};
use chrono::TimeDelta;

use crate::arguments::Csv;

pub(crate) fn write(asked: &Csv) -> Result<()> {
    let lasts = TimeDelta::milliseconds((asked.days * 86_400_000.0) as i64);
    let mut simulation = asked.plant.start(asked.from, lasts)?;
    let name = asked.out.display();
    let file = File::create(&asked.out).with_context(|| format!("can't create {name}"))?;
    let mut out = BufWriter::with_capacity(1 << 20, file);
    let mut rows = 0_u64;
    let mut write = || -> std::io::Result<()> {
        writeln!(out, "{CSV_HEADER}")?;
        for reading in simulation.until(asked.from + lasts) {
            write_csv_row(&mut out, &reading)?;
            rows += 1;
        }
        out.flush()
    };
    write().with_context(|| format!("can't write {name}"))?;
    tracing::info!(rows, file = %name, "readings written");
    Ok(())
}
