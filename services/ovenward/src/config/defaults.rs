//! `[defaults]`: what many lines have in common, so that 100 alike lines are short.

use super::section::Section;

/// `[defaults.line]` and `[defaults.zone]`, with their signals.
pub(super) struct Defaults<'a> {
    pub(super) line: Section<'a>,
    pub(super) line_signals: Section<'a>,
    pub(super) zone: Section<'a>,
    pub(super) zone_signals: Section<'a>,
}

impl<'a> Defaults<'a> {
    pub(super) fn new(section: &Section<'a>) -> Self {
        let (line, zone) = (section.section("line"), section.section("zone"));
        let (line_signals, zone_signals) = (line.section("signals"), zone.section("signals"));
        section.finish();
        Self { line, line_signals, zone, zone_signals }
    }

    /// To be called when every line has been read: a key of the defaults is known once a line has
    /// asked for it.
    pub(super) fn finish(&self) {
        for section in [&self.line, &self.line_signals, &self.zone, &self.zone_signals] {
            section.finish();
        }
    }
}
