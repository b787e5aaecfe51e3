//! A run as a page to read, print and send: no script, no other file, no network.

use std::io::{self, Write};

use reading::ShiftCalendar;

use super::chart::{Along, Chart};
use super::review::RunReview;
use super::text::{CAUTION, figures, zone_cells};

const STYLE: &str = "body { font: 15px/1.45 system-ui, sans-serif; margin: 2rem auto; max-width: 60rem; padding: 0 1rem; color: #1c1c1c; }
table { border-collapse: collapse; } th, td { padding: .25rem .7rem; text-align: right; border-bottom: 1px solid #ccc; }
svg { width: 100%; height: auto; margin: .6rem 0; } svg text { font-size: 12px; fill: #444; }
.grid { stroke: #e3e3e3; } .border { stroke: #999; stroke-dasharray: 4 4; } .normal { fill: #cfe3d4; }
.logger { fill: none; stroke: #24507a; stroke-width: 2; } .sensor { fill: #c2571a; }
footer { color: #555; margin-top: 1.5rem; } @media print { body { margin: 0; } }
";

const CHARTS: [Chart; 2] = [
    Chart {
        title: "Moisture",
        unit: "% vol",
        value: |point| point.moisture_pct,
        sensor: |zone| zone.sensor_moisture_pct,
        normal: |zone| zone.normal_low_pct.zip(zone.normal_high_pct),
    },
    Chart {
        title: "Air temperature",
        unit: "degC",
        value: |point| Some(point.temperature_c),
        sensor: |zone| zone.sensor_temperature_c,
        normal: |_| None,
    },
];

/// Writes the page.
///
/// # Errors
/// What `out` reports.
pub(crate) fn write_page(run: &RunReview, calendar: &ShiftCalendar, out: &mut dyn Write) -> io::Result<()> {
    let title = escape(&format!("Run of a travelling logger: {}", run.id));
    writeln!(out, "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">")?;
    writeln!(out, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">")?;
    writeln!(out, "<title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<h1>{title}</h1>\n<ul>")?;
    for figure in figures(run, calendar) {
        writeln!(out, "<li>{}</li>", escape(&figure))?;
    }
    writeln!(
        out,
        "</ul>\n<p>Line: logger. Dots: fixed sensors while it was there. Green: the approved normal at this speed.</p>"
    )?;
    for chart in CHARTS {
        for along in [Along::Place, Along::Time] {
            out.write_all(chart.draw(run, along).as_bytes())?;
        }
    }
    writeln!(out, "<table>")?;
    for (place, row) in zone_cells(run).iter().enumerate() {
        let element = if place == 0 { "th" } else { "td" };
        let cells: String = row.iter().map(|cell| format!("<{element}>{}</{element}>", escape(cell))).collect();
        writeln!(out, "<tr>{cells}</tr>")?;
    }
    writeln!(out, "</table>\n<footer>{}</footer>\n</body>\n</html>", escape(CAUTION))
}

/// Names come from the config and from the plant: they are text, never markup.
fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
