//! What the commands and the service read back from the store: windows and shift tables.

use std::borrow::Borrow;
use std::collections::HashMap;
use std::sync::Arc;

use alert::DetectionSettings;
use anyhow::Result;
use reading::{LineIndex, LineSeries, Plant, RunningState, ShiftInstance, Span, Timestamp, Window, WindowBuilder};
use shift_profile::{ShiftProfileRow, Stretch, shift_profile, stretches};
use store::{AlertQuery, Gap, GapCause, Store};

use crate::normal_files::NormalFiles;

/// The oven's content is followed on the band, so reading begins this long before it matters: the
/// slowest bake, and a gap before it.
pub const LEAD: Span = Span::minutes(120);

/// The readings of a line are had by stretches of this length, so that a year needs no more memory than a day.
const STRETCH: Span = Span::minutes(24 * 60);

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
    let begins = from - LEAD;
    let starts = (0..).map(|number| begins + Span(number * STRETCH.0)).take_while(|starts| *starts < to);
    let stretches = starts.map(|starts| store.series(line, starts, to.min(starts + STRETCH)));
    Ok(laid_on_windows(plant, line, from, settings, stretches)?)
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
    stretches: impl IntoIterator<Item = Result<impl Borrow<LineSeries>, E>>,
) -> Result<Vec<Window>, E> {
    let mut builder = WindowBuilder::new(plant.clone(), line, settings.window);
    let mut windows = Vec::new();
    for stretch in stretches {
        windows.extend(builder.lay(stretch?.borrow()));
    }
    windows.extend(std::iter::from_fn(|| builder.close_next()));
    windows.retain(|window| window.starts >= from);
    Ok(windows)
}

/// What one line baked in one shift.
#[derive(Debug, Clone, PartialEq)]
pub struct ShiftBaking {
    /// The profile table.
    pub rows: Vec<ShiftProfileRow>,
    /// When what was baked; may reach beyond the end of the shift.
    pub stretches: Vec<Stretch>,
}

/// The profile table of one shift of one line, alerts and normal included.
///
/// # Errors
/// As [`shift_baking`].
pub fn shift_table(
    store: &Store,
    normals: &NormalFiles,
    plant: &Arc<Plant>,
    line: LineIndex,
    shift: &ShiftInstance,
    settings: &DetectionSettings,
) -> Result<Vec<ShiftProfileRow>> {
    Ok(shift_baking(store, normals, plant, line, shift, settings)?.rows)
}

/// The profile table of one shift of one line, alerts and normal included, and the stretches of baking it is made of.
///
/// # Errors
/// The store or the normals cannot be read, or the table cannot be computed.
pub fn shift_baking(
    store: &Store,
    normals: &NormalFiles,
    plant: &Arc<Plant>,
    line: LineIndex,
    shift: &ShiftInstance,
    settings: &DetectionSettings,
) -> Result<ShiftBaking> {
    let readings = store.series(line, shift.starts - LEAD, shift.ends)?;
    let windows = laid_on_windows(plant, line, shift.starts, settings, [anyhow::Ok(&readings)])?;
    let stretches = stretches(&windows);
    let mut rows = shift_profile(plant, line, shift, &readings.numbers, &stretches)?;
    let approved = normals.approved(plant)?;
    let query = AlertQuery {
        from: Some(shift.starts),
        to: Some(shift.ends),
        line: Some(plant.lines[line.0].id.to_string()),
        ..AlertQuery::default()
    };
    let alerts = u32::try_from(store.alerts(&query)?.len()).unwrap_or(u32::MAX);
    let unseen = unseen(store, &windows, shift)?;
    for row in &mut rows {
        row.alerts = alerts;
        row.count_unseen(unseen.get(&row.product).copied().unwrap_or(0.0));
        let product: Arc<str> = row.product.clone();
        let Some(normal) = approved.get(&(line, product.clone())) else { continue };
        row.normal_id = Some(normal.key().to_string());
        let observations = alert::history::observations(&windows, &Some(product));
        let scores: Vec<f64> = observations.iter().map(|window| normal.departure(window).normal_score).collect();
        row.departure = (!scores.is_empty()).then(|| normal_profile::statistics::median(&scores));
    }
    Ok(ShiftBaking { rows, stretches })
}

/// Minutes of a shift of which readings were lost on their way here, by the product that was being baked as each such
/// gap began and is taken to have been baked on.
fn unseen(store: &Store, windows: &[Window], shift: &ShiftInstance) -> Result<HashMap<Arc<str>, f64>> {
    let mut minutes = HashMap::new();
    for gap in store.gaps(shift.starts, shift.ends)? {
        let (began, ended) = (gap.began.max(shift.starts), gap.ended.min(shift.ends));
        let before = windows.iter().rfind(|window| window.starts <= began);
        let Some(Window { state: RunningState::Baking, product: Some(product), .. }) = before else { continue };
        let lasted = (ended - began).as_seconds();
        let lost = match gap.cause {
            GapCause::SessionLost | GapCause::SequenceBroken => lasted - seen(windows, began, ended),
            GapCause::BrokerDropped => lasted * share_dropped(store, &gap)?,
        };
        *minutes.entry(product.clone()).or_default() += lost.max(0.0) / 60.0;
    }
    Ok(minutes)
}

/// Seconds between two moments that count as running all the same: windows at the edges, with what was read shortly
/// before.
fn seen(windows: &[Window], began: Timestamp, ended: Timestamp) -> f64 {
    let running = windows.iter().filter(|window| window.state == RunningState::Baking);
    let within = running.filter(|window| window.starts >= began && window.ends <= ended);
    within.map(|window| (window.ends - window.starts).as_seconds()).sum()
}

/// Which share of the messages of a gap the broker dropped, if all of them were readings for us: rather too much than
/// too little. They may have been of any line.
fn share_dropped(store: &Store, gap: &Gap) -> Result<f64> {
    let Some(lost) = gap.lost else { return Ok(1.0) };
    let arrived = store.about_how_many(gap.began, gap.ended)?;
    Ok(lost as f64 / (lost + arrived).max(1) as f64)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::path::Path;

    use super::*;
    use reading::{Quality, Quantity, Reading, Value};

    #[test]
    fn what_is_lost_while_a_product_is_baked_lowers_its_coverage() {
        let folder = tempfile::tempdir().unwrap();
        let config = include_str!("../../../config/test-day.toml");
        let settings = crate::config::parse(config, Path::new("plant.toml")).unwrap();
        let plant = Arc::new(settings.plant);
        let store = Store::open(folder.path(), &plant).unwrap();
        let shift = plant.shifts.at(Timestamp::parse("2026-06-02T10:00:00Z").unwrap()).unwrap();
        let from = shift.starts + Span::minutes(60);
        let mut readings = Vec::new();
        // Three hours of baking at one reading in ten seconds; in the second nothing arrives.
        for second in (0..3 * 3600).step_by(10).filter(|second| !(3600..7200).contains(second)) {
            for (signal, description) in plant.signals.iter() {
                let value = match description.quantity {
                    Quantity::Product => Value::Text("T800".into()),
                    Quantity::BandSpeed => Value::Number(1.2),
                    Quantity::Feed => Value::Number(1.0),
                    Quantity::AirTemperature => Value::Number(220.0),
                    Quantity::DewPoint => Value::Number(75.0),
                    _ => continue,
                };
                readings.push(Reading { signal, time: from + Span::seconds(second), value, quality: Quality::Good });
            }
        }
        store.commit(&readings, &[]).unwrap();
        let normals = NormalFiles::new(folder.path());
        let table = || shift_table(&store, &normals, &plant, LineIndex(0), &shift, &settings.detection).unwrap();
        let before = table();
        assert!(before[0].coverage_pct > 90.0, "nobody knows that anything is missing: {}", before[0].coverage_pct);
        let (began, ended) = (from + Span::minutes(60), from + Span::minutes(120));
        store.record_gap(&Gap { began, ended, cause: GapCause::SessionLost, lost: None }).unwrap();
        let after = table();
        let expected = before[0].coverage_pct * before[0].running_min / (before[0].running_min + 60.0);
        assert!((after[0].coverage_pct - expected).abs() < 3.0, "{} instead of {expected}", after[0].coverage_pct);
        assert_eq!(after[0].running_min, before[0].running_min);

        // Of the last half hour a broker dropped a quarter of what it should have passed on.
        let arrived = 180 * (readings.len() as u64 / 720);
        let (began, ended) = (from + Span::minutes(150), from + Span::minutes(180));
        assert_eq!(store.about_how_many(began, ended).unwrap(), arrived);
        let lost = Some(arrived / 3);
        store.record_gap(&Gap { began, ended, cause: GapCause::BrokerDropped, lost }).unwrap();
        let all = before[0].running_min;
        let expected = after[0].coverage_pct * (all + 60.0) / (all + 60.0 + 7.5);
        let dropped = table()[0].coverage_pct;
        assert!((dropped - expected).abs() < 0.5, "{dropped} instead of {expected}");
        assert!(dropped < after[0].coverage_pct - 1.0);
    }
}
