//! Reads the tables and keeps the worst deviation of each column.

/// A CSV whose first lines, up to the column names, begin with `#` and name its source.
pub(crate) struct Table {
    columns: Vec<&'static str>,
    rows: Vec<Vec<&'static str>>,
}

impl Table {
    pub(crate) fn parse(text: &'static str) -> Self {
        let mut lines = text.lines().filter(|line| !line.starts_with('#')).map(|line| line.split(',').collect());
        let columns: Vec<_> = lines.next().expect("a line of column names");
        let rows: Vec<Vec<_>> = lines.collect();
        assert!(rows.iter().all(|row| row.len() == columns.len()), "every row has every column");
        Self { columns, rows }
    }

    pub(crate) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|cells| Row { columns: &self.columns, cells })
    }
}

pub(crate) struct Row<'t> {
    columns: &'t [&'static str],
    cells: &'t [&'static str],
}

impl Row<'_> {
    pub(crate) fn text(&self, column: &str) -> &'static str {
        let index = self.columns.iter().position(|name| *name == column);
        self.cells[index.unwrap_or_else(|| panic!("no column {column}"))]
    }

    pub(crate) fn number(&self, column: &str) -> f64 {
        self.optional(column).unwrap_or_else(|| panic!("no number in column {column}: {:?}", self.cells))
    }

    /// Nothing where the source has no value.
    pub(crate) fn optional(&self, column: &str) -> Option<f64> {
        self.text(column).parse().ok()
    }
}

/// Compares a column with its source, row by row.
pub(crate) struct Column {
    name: &'static str,
    tolerance: f64,
    relative: bool,
    count: usize,
    largest: f64,
    outside: Vec<String>,
}

impl Column {
    /// `tolerance` is a share of the published value.
    pub(crate) fn within(name: &'static str, tolerance: f64) -> Self {
        Self::new(name, tolerance, true)
    }

    /// `tolerance` is in the column's own unit.
    pub(crate) fn within_absolute(name: &'static str, tolerance: f64) -> Self {
        Self::new(name, tolerance, false)
    }

    fn new(name: &'static str, tolerance: f64, relative: bool) -> Self {
        Self { name, tolerance, relative, count: 0, largest: 0.0, outside: Vec::new() }
    }

    pub(crate) fn check(&mut self, row: &Row<'_>, found: f64) {
        let Some(published) = row.optional(self.name) else { return };
        let scale = if self.relative && published != 0.0 { published.abs() } else { 1.0 };
        let deviation = (found - published).abs() / scale;
        self.count += 1;
        self.largest = self.largest.max(deviation);
        // Written so that NaN is outside too.
        if !matches!(deviation.partial_cmp(&self.tolerance), Some(std::cmp::Ordering::Less)) {
            self.outside.push(format!("{found} for {published} in {:?}", row.cells));
        }
    }
}

impl Drop for Column {
    fn drop(&mut self) {
        let Self { name, tolerance, count, largest, outside, .. } = self;
        let kind = if self.relative { "relative" } else { "absolute" };
        println!("{name}: {count} values, largest {kind} deviation {largest:.2e} of {tolerance:.1e} allowed");
        if !std::thread::panicking() {
            assert!(*count > 0, "{name}: nothing was compared");
            assert!(outside.is_empty(), "{name}: {} outside {tolerance}:\n{}", outside.len(), outside.join("\n"));
        }
    }
}
