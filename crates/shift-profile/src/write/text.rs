//! The table for a terminal.

use std::io::{self, Write};

use super::block::{Block, GROUPS, Group, Shown, blocks};
use crate::row::ShiftProfileRow;

/// Writes the table for a terminal, 112 characters wide: a block for each product of a shift, with
/// zones as rows.
///
/// # Errors
/// What `out` reports.
pub fn write_text(rows: &[ShiftProfileRow], mut out: impl Write) -> io::Result<()> {
    for (index, block) in blocks(rows).enumerate() {
        if index > 0 {
            writeln!(out)?;
        }
        write_block(block, &mut out)?;
    }
    Ok(())
}

fn write_block(block: Block<'_>, out: &mut impl Write) -> io::Result<()> {
    writeln!(out, "{} ({})", block.title(), block.span())?;
    for line in lines(&block.figures()) {
        writeln!(out, "{line}")?;
    }
    writeln!(out, "{}", group_headings())?;
    writeln!(out, "{}", cells(|column| column.heading.to_owned()))?;
    for row in block.zones {
        writeln!(out, "{}", cells(|column| column.cell(row)))?;
    }
    Ok(())
}

/// Width of the table, and of the lines above it.
const WIDTH: usize = 112;
const BETWEEN: &str = "  ";
const NARROWEST: usize = 5;

/// As many figures on each line as have room.
fn lines(figures: &[String]) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for figure in figures {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 2 + figure.chars().count() <= WIDTH => {
                line.push_str("; ");
                line.push_str(figure);
            }
            _ => lines.push(figure.clone()),
        }
    }
    lines
}

/// Width of each column of a group: together they hold the group's heading.
fn width(group: &Group) -> usize {
    let columns = group.columns.len();
    let heading = group.heading.chars().count().saturating_sub(BETWEEN.len() * (columns - 1));
    heading.div_ceil(columns).max(NARROWEST)
}

fn group_headings() -> String {
    let heading = |group: &Group| {
        let whole = (width(group) + BETWEEN.len()) * group.columns.len() - BETWEEN.len();
        format!("{:>whole$}", group.heading)
    };
    join(GROUPS.iter().map(heading))
}

fn cells(cell: impl Fn(&Shown) -> String) -> String {
    let padded = |group: &'static Group| {
        let width = width(group);
        group.columns.iter().map(move |column| (column, width))
    };
    join(GROUPS.iter().flat_map(padded).map(|(column, width)| format!("{:>width$}", cell(column))))
}

fn join(cells: impl Iterator<Item = String>) -> String {
    cells.collect::<Vec<_>>().join(BETWEEN).trim_end().to_owned()
}
