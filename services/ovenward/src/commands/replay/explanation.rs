//! `ovenward replay --explain`: the evidence of one alert.

mod figures;
mod text;

use std::collections::BTreeMap;
use std::io::Write;
use std::sync::Arc;

use alert::{Alert, DetectionSettings, Event, Judgement, LineEvent, Watch};
use normal_profile::Normal;
use reading::{LineIndex, LineSeries, Plant, Span, Timestamp, Window};

use super::source::Source;
use super::{ReplayArguments, ReplayFormat};
use crate::config::Settings;
use crate::failure::Failure;
use crate::normal_files::NormalFiles;
use crate::stored::{LEAD, laid_on_windows};
use figures::Explanation;

/// History is replayed from this long before the alert to this long after it.
const AROUND: Span = Span::minutes(12 * 60);
/// Windows are shown from this long before the alert began to this long after it was raised.
const SHOWN_AROUND: Span = Span::minutes(5);

/// An alert as the replay raised it, with all that was judged on the way.
struct Found {
    line: LineIndex,
    alert: Alert,
    judgements: Vec<Judgement>,
}

/// Replays the time around an alert and prints its evidence.
///
/// # Errors
/// No alert or more than one begins with this id, or the history cannot be read.
pub(super) fn explain(
    settings: &Settings,
    arguments: &ReplayArguments,
    id: &str,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let id = id.to_ascii_uppercase();
    let plant = Arc::new(settings.plant.clone());
    let normals = NormalFiles::new(&settings.data_dir).approved(&plant)?;
    let mut watch = Watch::new(plant.clone(), normals, settings.detection);
    let source = Source::open(settings, &arguments.files)?;
    let (from, to) = period(settings, arguments, &id)?;
    let mut found = BTreeMap::new();
    source.each(None, from, to, &mut |reading| {
        let events = watch.push(reading);
        keep(&mut found, &id, events, &watch);
    })?;
    let events = watch.finish();
    keep(&mut found, &id, events, &watch);

    let found = only(found, &id)?;
    let normal = found.alert.product.as_ref().and_then(|product| watch.normal(found.line, product)).cloned();
    let windows = windows(&plant, &settings.detection, &source, &found)?;
    let explanation = Explanation::of(&found, normal.as_deref(), &windows, &settings.detection);
    match arguments.format {
        ReplayFormat::Table => Ok(text::write(&explanation, &plant.shifts, out)?),
        ReplayFormat::Jsonl => Ok(writeln!(out, "{}", serde_json::to_string(&explanation)?)?),
    }
}

/// What was asked for, or the time around the alert if its id tells when that was.
fn period(
    settings: &Settings,
    arguments: &ReplayArguments,
    id: &str,
) -> Result<(Option<Timestamp>, Option<Timestamp>), Failure> {
    let (from, to) = arguments.period.ends(settings)?;
    let raised = alert::raised_at(id).filter(|_| from.is_none() && to.is_none());
    Ok((raised.map(|raised| raised - AROUND).or(from), raised.map(|raised| raised + AROUND).or(to)))
}

/// Keeps the alerts asked for, each as it stands last, with what was judged until then.
fn keep(found: &mut BTreeMap<String, Found>, id: &str, events: Vec<Event>, watch: &Watch) {
    for Event { line, what } in events {
        if let LineEvent::Raised(alert) | LineEvent::Ended(alert) = what
            && alert.id.starts_with(id)
        {
            let judgements = watch.judgements(line).iter().filter(|it| it.rise.began == alert.began).cloned().collect();
            found.insert(alert.id.clone(), Found { line, alert: *alert, judgements });
        }
    }
}

fn only(found: BTreeMap<String, Found>, id: &str) -> Result<Found, Failure> {
    let ids: Vec<String> = found.keys().cloned().collect();
    let mut found = found.into_values();
    match (found.next(), found.next()) {
        (Some(only), None) => Ok(only),
        (Some(_), Some(_)) => {
            Err(Failure::usage(format!("{} alerts begin with {id}: {}; write more of it", ids.len(), ids.join(", "))))
        }
        (None, _) => Err(Failure::NoData(format!(
            "the replay raises no alert {id}; `ovenward replay` lists what it raises. With another normal than that \
             of the day, or from another moment on (--from), it may judge otherwise"
        ))),
    }
}

/// The windows around the alert.
fn windows(
    plant: &Arc<Plant>,
    settings: &DetectionSettings,
    source: &Source<'_>,
    found: &Found,
) -> Result<Vec<Window>, Failure> {
    let (from, to) = (found.alert.began - SHOWN_AROUND, found.alert.raised + SHOWN_AROUND);
    let mut readings = Vec::new();
    source.each(Some(found.line), Some(from - LEAD), Some(to), &mut |reading| readings.push(reading.clone()))?;
    // Files need not be in order.
    readings.sort_by_key(|reading| (reading.time, reading.signal));
    laid_on_windows(plant, found.line, from, settings, [Ok(LineSeries::from_iter(readings))])
}

/// How far each window departs from the normal, where there is one.
fn departures(windows: &[Window], normal: Option<&Normal>) -> BTreeMap<i64, f64> {
    let Some(normal) = normal else { return BTreeMap::new() };
    let product = Some(Arc::from(normal.key().product.as_str()));
    let observations = alert::history::observations(windows, &product);
    observations.iter().map(|window| (window.time_us, normal.departure(window).normal_score)).collect()
}
