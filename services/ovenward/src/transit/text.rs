//! A run, the list of runs and two runs compared, for a terminal.

use std::io::{self, Write};

use reading::ShiftCalendar;

use super::comparison::{Change, alike, changes};
use super::review::{RunReview, ZoneSeen};

pub(super) const CAUTION: &str = "Advisory only: steam, exhaust and burner settings belong to the oven maker's limits, local codes and \
    the plant's licensed people.\nThe wetted surface is computed, and says nothing of the core.";

/// Writes a run: what it says in sentences, and its zones as a table.
///
/// # Errors
/// What `out` reports.
pub(crate) fn write_review(run: &RunReview, calendar: &ShiftCalendar, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{}", run.id)?;
    for figure in figures(run, calendar) {
        writeln!(out, "  {figure}")?;
    }
    writeln!(out)?;
    write_table(&zone_cells(run), out)?;
    if run.zones.iter().any(|zone| zone.moisture_offset().is_some()) {
        writeln!(out, "offset: fixed sensor less logger, while the logger was in the middle third of the zone")?;
    }
    for missing in &run.missing {
        writeln!(out, "missing: {missing}")?;
    }
    writeln!(out, "{CAUTION}")
}

/// What a run says, a sentence each.
pub(super) fn figures(run: &RunReview, calendar: &ShiftCalendar) -> Vec<String> {
    let mut said = vec![
        format!("line {}, product {}", run.line, run.product.as_deref().unwrap_or("unknown")),
        format!(
            "entered {}, band {:.3} m/min {}",
            calendar.date_and_time(run.entered),
            run.band_speed_m_min,
            if run.speed_is_stored { "(from the store)" } else { "(as given)" }
        ),
    ];
    if !run.is_whole {
        said.push("the run ends before the last zone: only what it passed is shown".into());
    }
    said.extend(run.peak.as_ref().map(|peak| {
        format!(
            "wettest {:.1} % vol at {:.1} m, {:.0} s after entering, in zone {}",
            peak.moisture_pct, peak.metre, peak.seconds, peak.zone
        )
    }));
    said.extend(run.drop_1_to_2_pct.map(|drop| match drop {
        0.0.. => format!("moisture falls {drop:.0} % from zone 1 to zone 2"),
        _ => format!("moisture rises {:.0} % from zone 1 to zone 2", -drop),
    }));
    said.extend(run.zone3_to_peak_pct.map(|share| format!("zone 3 holds {share:.0} % of the wettest zone")));
    said.extend(run.steam_exposure_s.map(|seconds| {
        let waste = if seconds > 10.0 { "; longer than 10 s is baked off again (common practice)" } else { "" };
        format!("{seconds:.0} s under steam{waste}")
    }));
    said.extend(run.surface.as_ref().map(|surface| {
        format!(
            "surface of the dough (computed): wetted for {:.0} s, {:.0} g/m2 condensed, 77 degC {} while wet",
            surface.wetted_s,
            surface.condensate_g_m2,
            if surface.gelatinised_while_wet { "passed" } else { "not passed" }
        )
    }));
    for injector in &run.injectors {
        let rise = injector.rise_pct.map_or_else(String::new, |rise| format!(": {rise:+.1} % vol behind it"));
        let verdict = match injector.works {
            Some(true) => "gave steam",
            Some(false) => "GAVE NOTHING: look at its valve and bore",
            None => "cannot be told: no samples on both sides",
        };
        said.push(format!("injector at {:.2} m {verdict}{rise}", injector.metre));
    }
    said.extend(run.normal.as_ref().map(|normal| {
        let beyond: Vec<String> = (1..)
            .zip(&run.zones)
            .filter(|(_, zone)| zone.is_normal() == Some(false))
            .map(|(at, _)| at.to_string())
            .collect();
        match beyond.as_slice() {
            [] => format!("within the band of normal {normal} in every zone"),
            zones => format!("outside the band of normal {normal} in zone {}", zones.join(", ")),
        }
    }));
    said
}

/// The table of zones, its first row the headings.
pub(super) fn zone_cells(run: &RunReview) -> Vec<Vec<String>> {
    let cell =
        |value: Option<f64>, decimals: usize| value.map_or_else(|| "–".into(), |value| format!("{value:.decimals$}"));
    let headings =
        ["zone", "m", "% vol", "degC", "fixed % vol", "offset", "fixed degC", "offset", "normal % vol", "band"];
    let row = |(number, zone): (usize, &ZoneSeen)| {
        let band = zone.normal_low_pct.zip(zone.normal_high_pct);
        vec![
            number.to_string(),
            format!("{:.1}-{:.1}", zone.begins_m, zone.ends_m),
            cell(zone.moisture_pct, 1),
            cell(zone.temperature_c, 0),
            cell(zone.sensor_moisture_pct, 1),
            signed(zone.moisture_offset()),
            cell(zone.sensor_temperature_c, 0),
            signed(zone.temperature_offset()),
            cell(zone.normal_pct, 1),
            band.map_or_else(|| "–".into(), |(low, high)| format!("{low:.1}-{high:.1}")),
        ]
    };
    std::iter::once(headings.map(String::from).to_vec()).chain((1..).zip(&run.zones).map(row)).collect()
}

/// Writes the list of kept runs.
///
/// # Errors
/// What `out` reports.
pub(crate) fn write_list(runs: &[RunReview], calendar: &ShiftCalendar, out: &mut dyn Write) -> io::Result<()> {
    let headings = ["run", "entered", "product", "m/min", "peak % vol", "zone 3 % vol", "dead injectors"];
    let row = |run: &RunReview| {
        let percent = |value: Option<f64>| value.map_or_else(|| "–".into(), |value| format!("{value:.1}"));
        vec![
            run.id.clone(),
            calendar.date_and_time(run.entered),
            run.product.clone().unwrap_or_else(|| "–".into()),
            format!("{:.3}", run.band_speed_m_min),
            percent(run.peak.as_ref().map(|peak| peak.moisture_pct)),
            percent(run.zones.get(2).and_then(|zone| zone.moisture_pct)),
            run.injectors.iter().filter(|injector| injector.works == Some(false)).count().to_string(),
        ]
    };
    let rows: Vec<Vec<String>> =
        std::iter::once(headings.map(String::from).to_vec()).chain(runs.iter().map(row)).collect();
    write_table(&rows, out)
}

/// Writes what changed from one run to another.
///
/// # Errors
/// What `out` reports.
pub(crate) fn write_comparison(
    before: &RunReview,
    after: &RunReview,
    calendar: &ShiftCalendar,
    out: &mut dyn Write,
) -> io::Result<()> {
    for (name, run) in [("A", before), ("B", after)] {
        let product = run.product.as_deref().unwrap_or("unknown");
        let entered = calendar.date_and_time(run.entered);
        writeln!(out, "{name}  {}  {product}, entered {entered}, band {:.3} m/min", run.id, run.band_speed_m_min)?;
    }
    if !alike(before, after) {
        writeln!(out, "These runs are of different ovens or products: a difference is no change of one oven.")?;
    }
    writeln!(out)?;
    let value = |value: Option<f64>| value.map_or_else(|| "–".into(), |value| format!("{value:.1}"));
    let headings = ["", "A", "B", "change"].map(String::from).to_vec();
    let row = |change: Change| {
        let name = format!("{}, {}", change.what, change.unit);
        vec![name, value(change.before), value(change.after), signed(change.difference())]
    };
    let rows: Vec<Vec<String>> = std::iter::once(headings).chain(changes(before, after).into_iter().map(row)).collect();
    write_table(&rows, out)?;
    writeln!(out, "{CAUTION}")
}

/// A difference; adding nought takes the minus from what rounds to it.
fn signed(value: Option<f64>) -> String {
    value.map_or_else(|| "–".into(), |value| format!("{:+.1}", (10.0 * value).round() / 10.0 + 0.0))
}

/// Columns as wide as they need: the first to the left, the others to the right.
fn write_table(rows: &[Vec<String>], out: &mut dyn Write) -> io::Result<()> {
    let columns = rows.first().map_or(0, Vec::len);
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(width).collect();
    for row in rows {
        let cells = row.iter().zip(&widths).enumerate().map(|(place, (cell, width))| {
            if place == 0 { format!("{cell:<width$}") } else { format!("{cell:>width$}") }
        });
        writeln!(out, "{}", cells.collect::<Vec<_>>().join("  ").trim_end())?;
    }
    Ok(())
}
