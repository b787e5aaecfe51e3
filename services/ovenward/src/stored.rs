//! What the commands and the service read back from the store: windows and shift tables.

use std::sync::Arc;

use alert::DetectionSettings;
use anyhow::Result;
use reading::{LineIndex, Plant, Reading, ShiftInstance, Span, Timestamp, Window, WindowBuilder};
use shift_profile::{ShiftProfileRow, shift_profile, stretches};
use store::{AlertQuery, Store};

use crate::normal_files::NormalFiles;

/// The oven's content is followed on the band, so reading begins this long before it matters: the
/// slowest bake, and a gap before it.
pub const LEAD: Span = Span::minutes(120);

/// The windows of a line that begin in `[from, to)`.
///
/// # Errors
/// The store cannot be read.
pub fn windows(
    store: &Store,
    plant: &Arc<Plant>,
    line: LineIndex,
    from: Timestamp,
    to: Timestamp,
    settings: &DetectionSettings,
) -> Result<Vec<Window>> {
    laid_on_windows(plant, line, from, settings, store.readings(Some(line), from - LEAD, to)).map_err(Into::into)
}

/// The windows of a line that begin at `from` or later, of stretches of its readings in order of time.
///
/// # Errors
/// A stretch cannot be had.
pub(crate) fn laid_on_windows<E>(
    plant: &Arc<Plant>,
    line: LineIndex,
    from: Timestamp,
    settings: &DetectionSettings,
    stretches: impl IntoIterator<Item = Result<Vec<Reading>, E>>,
) -> Result<Vec<Window>, E> {
    let mut builder = WindowBuilder::new(plant.clone(), line, settings.window);
    let mut windows = Vec::new();
    for stretch in stretches {
        for reading in stretch? {
            builder.push(&reading);
        }
        windows.extend(std::iter::from_fn(|| builder.next_closed()));
    }
    windows.extend(std::iter::from_fn(|| builder.close_next()));
    windows.retain(|window| window.starts >= from);
    Ok(windows)
}

/// The profile table of one shift of one line, alerts and normal included.
///
/// # Errors
/// The store or the normals cannot be read, or the table cannot be computed.
pub fn shift_table(
    store: &Store,
    normals: &NormalFiles,
    plant: &Arc<Plant>,
    line: LineIndex,
    shift: &ShiftInstance,
    settings: &DetectionSettings,
) -> Result<Vec<ShiftProfileRow>> {
    let windows = windows(store, plant, line, shift.starts, shift.ends, settings)?;
    let numbers = store.numbers(line, shift.starts, shift.ends)?;
    let mut rows = shift_profile(plant, line, shift, &numbers, &stretches(&windows))?;
    let approved = normals.approved(plant)?;
    let query = AlertQuery {
        from: Some(shift.starts),
        to: Some(shift.ends),
        line: Some(plant.lines[line.0].id.to_string()),
        ..AlertQuery::default()
    };
    let alerts = u32::try_from(store.alerts(&query)?.len()).unwrap_or(u32::MAX);
    for row in &mut rows {
        row.alerts = alerts;
        let product: Arc<str> = row.product.clone();
        let Some(normal) = approved.get(&(line, product.clone())) else { continue };
        row.normal_id = Some(normal.key().to_string());
        let observations = alert::history::observations(&windows, &Some(product));
        let scores: Vec<f64> = observations.iter().map(|window| normal.departure(window).normal_score).collect();
        row.departure = (!scores.is_empty()).then(|| normal_profile::statistics::median(&scores));
    }
    Ok(rows)
}
