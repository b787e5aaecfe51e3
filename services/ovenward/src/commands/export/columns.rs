//! What the columns of the exported files mean.

use std::sync::Arc;

use alert::Alert;
use reading::{Quality, Reading, Value};

use crate::table::{Column, Entry};

/// A reading with the plant's own name for its signal.
pub(super) struct TaggedReading {
    pub(super) tag: Arc<str>,
    pub(super) reading: Reading,
}

/// What a tag is.
const TAG: &str = "The MQTT topic, topic#pointer, or of Sparkplug GROUP/NODE/DEVICE#metric.";

/// As `backfill` takes them: a product code stands in `text`.
pub(super) const READINGS: &[Column<TaggedReading>] = &[
    Column::time("time", "When it was measured.", |row| Some(row.reading.time)),
    Column::text("tag", TAG, |row| Some(row.tag.to_string())),
    Column::number("value", "as sent", "What the plant sent, before scale and unit.", |row| row.reading.value.number()),
    Column::text("text", "A text, such as a product code, in place of a number.", |row| match &row.reading.value {
        Value::Text(text) => Some(text.to_string()),
        Value::Number(_) => None,
    }),
    Column::count(
        "quality",
        "192 good, 64 uncertain, 0 bad: wrong, or none at all (then value is 0 or text empty).",
        |row| Some(i64::from(row.reading.quality.code())),
    ),
];

/// CSV has one column for numbers and texts, as `backfill` reads it.
pub(super) const READINGS_CSV: &[Column<TaggedReading>] = &[
    Column::time("time", "When it was measured.", |row| Some(row.reading.time)),
    Column::text("tag", TAG, |row| Some(row.tag.to_string())),
    Column::text("value", "What the plant sent, before scale and unit.", |row| match &row.reading.value {
        Value::Text(text) => Some(text.to_string()),
        Value::Number(number) => Some(number.to_string()),
    }),
    Column::text("quality", "good, uncertain or bad: wrong, or none at all (then value is 0 or empty).", |row| {
        Some(match row.reading.quality {
            Quality::Good => "good".into(),
            Quality::Uncertain => "uncertain".into(),
            Quality::Bad => "bad".into(),
        })
    }),
];

pub(crate) const ALERTS: &[Column<Alert>] = &[
    Column::text("id", "ULID of the alert.", |alert| Some(alert.id.clone())),
    Column::text("site", "The site's id.", |alert| Some(alert.site.to_string())),
    Column::text("line", "The line's id.", |alert| Some(alert.line.to_string())),
    Column::text("kind", "What kind of event.", |alert| word(&alert.kind)),
    Column::text("finding", "What is wrong.", |alert| word(&alert.finding)),
    Column::text("priority", "How soon a person should look.", |alert| word(&alert.priority)),
    Column::text("state", "Where it stands: ISA-18.2 states.", |alert| word(&alert.state)),
    Column::text("product", "Code of the product in the oven.", |alert| alert.product.as_deref().map(str::to_owned)),
    Column::time("began", "When the cause began.", |alert| Some(alert.began)),
    Column::time("raised", "When the evidence sufficed.", |alert| Some(alert.raised)),
    Column::time("ended", "When the evidence was gone; empty while it stands.", |alert| alert.ended),
    Column::number(
        "confidence",
        "",
        "1 less the chance of such evidence without a cause; empty for a limit.",
        |alert| alert.confidence,
    ),
    Column::text("normal", "The normal it was held against.", |alert| alert.normal.clone()),
    Column::text("message", "What happened, in one sentence.", |alert| Some(alert.message.clone())),
];

/// The word by which a choice is written in JSON.
fn word(choice: &impl serde::Serialize) -> Option<String> {
    serde_json::to_value(choice).ok()?.as_str().map(str::to_owned)
}

/// The columns of the shift profile table, which `shift_profile` writes.
pub(super) const SHIFTS: [Entry; 30] = [
    entry("site", "text", "", "The site's id."),
    entry("line", "text", "", "The line's id."),
    entry("date", "date", "", "Local date on which the shift began."),
    entry("shift", "text", "", "The shift's name."),
    entry("product", "text", "", "Code of the product that was baked."),
    entry("zone", "whole number", "", "The zone, counted from 1 in the direction of travel."),
    entry("starts", "time, UTC", "", "First moment of the shift."),
    entry("ends", "time, UTC", "", "First moment of the next shift."),
    entry("running_min", "number", "min", "How long the product was baked in this shift."),
    entry("readings", "whole number", "", "How many readings of the zone were used."),
    entry(
        "coverage_pct",
        "number",
        "%",
        "Share of that time in which the zone has a usable reading; time of which nothing is known is uncovered.",
    ),
    entry("moisture_pct_mean", "number", "% vol", "Mean moisture by volume."),
    entry("moisture_pct_p05", "number", "% vol", "5 % of the readings lie below it."),
    entry("moisture_pct_p50", "number", "% vol", "Median moisture."),
    entry("moisture_pct_p95", "number", "% vol", "95 % of the readings lie below it."),
    entry("dew_point_c_mean", "number", "degC", "Mean of the dew points."),
    entry("humidity_ratio_mean", "number", "kg/kg", "Mean humidity ratio, water per dry air."),
    entry("air_temperature_c_mean", "number", "degC", "Mean air temperature."),
    entry("air_temperature_c_p05", "number", "degC", "5 % of the readings lie below it."),
    entry("air_temperature_c_p95", "number", "degC", "95 % of the readings lie below it."),
    entry("exhaust_damper_pct_mean", "number", "%", "Mean opening of the exhaust damper."),
    entry("band_speed_m_min_mean", "number", "m/min", "Mean band speed."),
    entry("band_speed_m_min_max", "number", "m/min", "Highest band speed."),
    entry("bake_time_min_mean", "number", "min", "Mean bake time: length of the oven over band speed."),
    entry("peak_zone", "whole number", "", "The zone with the highest mean moisture."),
    entry(
        "drop_1_to_2_pct",
        "number",
        "%",
        "Fall of mean moisture from zone 1 to zone 2, of zone 1; negative if it rises.",
    ),
    entry("zone3_to_peak_pct", "number", "%", "Mean moisture of zone 3, of that of the peak zone."),
    entry("normal_id", "text", "", "The approved normal with which the shift was compared."),
    entry(
        "departure",
        "number",
        "",
        "How far it departed from that normal, by the normal's own measure: median of its windows.",
    ),
    entry("alerts", "whole number", "", "Alerts raised on the line in the shift."),
];

const fn entry(name: &'static str, kind: &'static str, unit: &'static str, meaning: &'static str) -> Entry {
    Entry { name, kind, unit, meaning }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_column_of_the_shift_table_has_its_meaning() {
        assert_eq!(SHIFTS.map(|entry| entry.name), shift_profile::ShiftProfileRow::COLUMNS);
        assert!(SHIFTS.iter().all(|entry| entry.meaning.len() > 10));
    }
}
