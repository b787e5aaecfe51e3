//! The zones of an oven against what is expected of them, as bars.
//!
//! Drawn of table cells, not as an image: mail programs hide images until they are told otherwise, few show SVG, and a
//! bitmap has no words for those who do not see it. Cells are shown by all of them, at any width.

use std::fmt::Write;

use alert::ZoneFigures;

use crate::words::Side;

pub(super) const INK: &str = "#1d1e1b";
pub(super) const QUIET: &str = "#5d5f59";
pub(super) const RULE: &str = "#dcdcd6";
pub(super) const ACT: &str = "#b0241b";
const TRACK: &str = "#efefeb";
const BAND: &str = "#b9beb6";
/// Width of the mark that stands for a reading, % of a bar.
const MARK: f64 = 1.6;

/// The bars of all zones, in one scale; nothing without zones.
pub(super) fn of(zones: &[ZoneFigures]) -> String {
    if zones.is_empty() {
        return String::new();
    }
    let highest = zones.iter().flat_map(|zone| [zone.observed, zone.expected, zone.high.unwrap_or(0.0)]);
    let scale = highest.fold(1.0, f64::max) * 1.05;
    let grey = if zones.iter().all(|zone| zone.low.is_some()) { "what is expected" } else { "up to the limit" };
    let mut table = format!(
        "<table width=\"100%\" cellpadding=\"0\" cellspacing=\"0\" style=\"margin:16px 0 0;font-size:14px\">\n\
         <caption style=\"text-align:left;padding-bottom:6px;color:{QUIET}\">Moisture by zone, % vol. \
         Grey: {grey}. Stroke: what it is.</caption>\n"
    );
    for zone in zones {
        let side = Side::of(zone);
        let style =
            if side == Side::Within { format!("color:{QUIET}") } else { format!("color:{ACT};font-weight:600") };
        let _ = writeln!(
            table,
            "<tr><th scope=\"row\" width=\"52\" style=\"padding:4px 0;text-align:left;font-weight:400;white-space:nowrap\">Zone {}</th>\
             <td style=\"padding:4px 8px\">{}</td>\
             <td width=\"38\" style=\"text-align:right;white-space:nowrap\">{:.1}</td>\
             <td width=\"104\" style=\"padding-left:10px;white-space:nowrap;{style}\">{}</td></tr>",
            zone.zone,
            bar(zone, scale, if side == Side::Within { INK } else { ACT }),
            zone.observed,
            side.text()
        );
    }
    table + "</table>\n"
}

/// What is expected of a zone, in figures.
pub(super) fn expected(zone: &ZoneFigures) -> String {
    match (zone.low, zone.high) {
        (Some(low), Some(high)) => format!("{low:.1} to {high:.1}"),
        _ => format!("up to {:.1}", zone.expected),
    }
}

/// One bar: its cells from left to right, each with a share of the width and a colour.
fn bar(zone: &ZoneFigures, scale: f64, mark: &str) -> String {
    let share = |moisture: f64| (moisture / scale * 100.0).clamp(0.0, 100.0);
    let (low, high) = (share(zone.low.unwrap_or(0.0)), share(zone.high.unwrap_or(zone.expected)));
    let at = (share(zone.observed) - MARK / 2.0).clamp(0.0, 100.0 - MARK);
    let on_mark = |place: f64| (at..at + MARK).contains(&place);
    let mut ends: Vec<f64> = [low, high].into_iter().filter(|end| !on_mark(*end)).collect();
    ends.extend([at, at + MARK, 100.0]);
    ends.sort_by(f64::total_cmp);
    let mut cells = String::new();
    let mut begin = 0.0;
    for end in ends {
        let (width, middle) = (end - begin, (begin + end) / 2.0);
        begin = end;
        if width < 0.05 {
            continue;
        }
        // The mark has pixels of its own: on a telephone its share would vanish.
        let (width, colour) = match middle {
            _ if on_mark(middle) => ("4".to_owned(), mark),
            _ if (low..high).contains(&middle) => (format!("{width:.1}%"), BAND),
            _ => (format!("{width:.1}%"), TRACK),
        };
        let _ = write!(
            cells,
            "<td width=\"{width}\" height=\"18\" bgcolor=\"{colour}\" style=\"font-size:1px;line-height:18px\">&nbsp;</td>"
        );
    }
    format!(
        "<table role=\"presentation\" width=\"100%\" cellpadding=\"0\" cellspacing=\"0\" \
         style=\"table-layout:fixed\"><tr>{cells}</tr></table>"
    )
}
