//! The table as a page to read, print and send.

use std::io::{self, Write};

use super::block::{Block, GROUPS, Group, Shown, blocks};
use super::chart;
use crate::row::ShiftProfileRow;

const STYLE: &str = include_str!("page.css");

/// Writes the table as one page that needs nothing else: no script, no other file, no network. A
/// section for each product of a shift: figures, a chart of moisture by zone, the table.
///
/// # Errors
/// What `out` reports.
pub fn write_html(rows: &[ShiftProfileRow], mut out: impl Write) -> io::Result<()> {
    let title = title(rows);
    writeln!(out, "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">")?;
    writeln!(out, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">")?;
    writeln!(out, "<title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<h1>{title}</h1>")?;
    if rows.is_empty() {
        writeln!(out, "<p>Nothing was baked.</p>")?;
    }
    let scale = chart::Scale::of(rows);
    for block in blocks(rows) {
        write_section(block, &scale, &mut out)?;
    }
    writeln!(out, "<footer>{NOTE}</footer>\n</body>\n</html>")
}

const NOTE: &str = "Statistics of the readings taken while the product was baked. Quantiles are exact, with linear \
    interpolation. The band in the charts holds 90 % of the readings; all charts have one scale. Advisory only: \
    exhaust, burner and steam settings belong to the oven maker’s limits, local codes and the plant’s licensed people.";

fn title(rows: &[ShiftProfileRow]) -> String {
    match rows {
        [] => "Shift profile".to_owned(),
        [first, ..] => format!("Shift profile, {}", escape(&first.site)),
    }
}

fn write_section(block: Block<'_>, scale: &chart::Scale, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "<section>\n<h2>{}</h2>\n<p class=\"span\">{}</p>", escape(&block.title()), escape(&block.span()))?;
    writeln!(out, "<div class=\"overview\">\n<ul>")?;
    for figure in block.figures() {
        writeln!(out, "<li>{}</li>", escape(&figure))?;
    }
    writeln!(out, "</ul>\n{}</div>", chart::moisture_by_zone(block.zones, scale))?;
    writeln!(out, "<table>\n<thead>\n<tr>{}</tr>", GROUPS.iter().map(group_heading).collect::<String>())?;
    writeln!(out, "<tr>{}</tr>\n</thead>\n<tbody>", cells("th", |column| column.heading.to_owned()))?;
    for row in block.zones {
        writeln!(out, "<tr>{}</tr>", cells("td", |column| column.cell(row)))?;
    }
    writeln!(out, "</tbody>\n</table>\n</section>")
}

fn group_heading(group: &Group) -> String {
    format!("<th colspan=\"{}\">{}</th>", group.columns.len(), escape(group.heading))
}

fn cells(element: &str, cell: impl Fn(&Shown) -> String) -> String {
    let columns = GROUPS.iter().flat_map(|group| group.columns);
    columns.map(|column| format!("<{element}>{}</{element}>", escape(&cell(column)))).collect()
}

/// Names come from the config and from the plant: they are text, never markup.
fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
