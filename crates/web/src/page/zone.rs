//! One zone of an oven: a chamber filled to its moisture, with the normal's band across it.

use crate::html::Element;
use crate::page::figure;
use crate::page::side::Side;
use crate::status::{LineStatus, ZoneStatus};

/// Moisture at the top of every chamber, % by volume: one scale for the whole plant, so that two ovens can be
/// compared by eye.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scale {
    top_pct: f64,
}

impl Scale {
    /// The scale that holds every figure of these lines.
    pub(crate) fn of(lines: &[LineStatus]) -> Self {
        let zones = lines.iter().flat_map(|line| &line.zones);
        let figures = zones.flat_map(|zone| [zone.moisture_pct, zone.high_pct]);
        let highest = figures.flatten().filter(|figure| figure.is_finite()).fold(0.0, f64::max);
        Self { top_pct: ((highest + 2.0) / 10.0).ceil().max(1.0) * 10.0 }
    }

    /// Distance from the top in hundredths of the height.
    fn depth(self, moisture_pct: f64) -> f64 {
        (1.0 - moisture_pct / self.top_pct).clamp(0.0, 1.0) * 100.0
    }
}

/// A zone as an item of its oven's list.
pub(crate) fn item(zone: &ZoneStatus, scale: Scale) -> Element {
    let side = Side::of(zone.moisture_pct, zone.low_pct, zone.high_pct);
    let moisture = Element::of("p", "moisture", figure::decimals(zone.moisture_pct, 1))
        .child(Element::of("span", "unit", " % vol"));
    Element::new("li")
        .class(format_args!("zone {}", side.class()))
        .child(Element::of("h4", "number", format_args!("Zone {}", zone.zone)))
        .child(chamber(zone, scale))
        .child(moisture)
        .children(gauge(zone))
        .child(verdict(zone, side))
        .child(conditions(zone))
}

fn verdict(zone: &ZoneStatus, side: Side) -> Element {
    let band = figure::range(zone.low_pct, zone.high_pct);
    let apart = |edge: Option<f64>| {
        figure::decimals(zone.moisture_pct.zip(edge).map(|(moisture, edge)| (moisture - edge).abs()), 1)
    };
    let words = match side {
        Side::Above => format!("{} above {band}", apart(zone.high_pct)),
        Side::Below => format!("{} below {band}", apart(zone.low_pct)),
        Side::Within => format!("normal {band}"),
        Side::Unjudged => "no normal now".to_owned(),
    };
    let mark = Element::new("span").attribute("aria-hidden", "true").text(side.mark());
    Element::of("p", "verdict", "").child(mark).text(words)
}

fn conditions(zone: &ZoneStatus) -> Element {
    let pair = |term, value: String| {
        Element::new("div").child(Element::new("dt").text(term)).child(Element::new("dd").text(value))
    };
    Element::new("dl")
        .child(pair("air", figure::with_unit(zone.air_temperature_c, 0, "°C")))
        .child(pair("dew point", figure::with_unit(zone.dew_point_c, 1, "°C")))
        .child(pair("damper", figure::with_unit(zone.exhaust_damper_pct, 0, "%")))
}

/// Where the moisture lies against the band, drawn alike for every zone: what is too wet in zone 3 is a small figure
/// on the scale of the chambers, and the one that matters.
fn gauge(zone: &ZoneStatus) -> Option<Element> {
    let (moisture, low, high) = (zone.moisture_pct?, zone.low_pct?, zone.high_pct?);
    let place = 37.5 + 25.0 * (moisture - low) / (high - low);
    let bar = |class, left: f64, width: f64| {
        let bar = Element::new("rect").class(class).attribute("height", "100%");
        bar.attribute("x", format_args!("{left:.1}%")).attribute("width", format_args!("{width:.1}%"))
    };
    let mark = place.is_finite().then(|| bar("mark", place.clamp(1.0, 97.0) - 1.0, 3.0));
    let gauge = Element::new("svg").class("gauge").attribute("aria-hidden", "true");
    Some(gauge.child(bar("track", 0.0, 100.0)).child(bar("usual", 37.5, 25.0)).children(mark))
}

/// The drawing repeats the figures beside it, so nobody has to hear it.
fn chamber(zone: &ZoneStatus, scale: Scale) -> Element {
    let block = |class, left: f64, right: f64, upper_pct: f64, lower_pct: f64| {
        let (top, bottom) = (scale.depth(upper_pct), scale.depth(lower_pct));
        Element::new("rect")
            .class(class)
            .attribute("x", left)
            .attribute("width", right - left)
            .attribute("y", format_args!("{top:.2}"))
            .attribute("height", format_args!("{:.2}", (bottom - top).max(0.0)))
    };
    let mut drawing = Element::new("svg")
        .class("chamber")
        .attribute("viewBox", "0 0 100 100")
        .attribute("preserveAspectRatio", "none")
        .attribute("aria-hidden", "true");
    if let (Some(low), Some(high)) = (zone.low_pct, zone.high_pct) {
        drawing = drawing.child(block("band", 0.0, 100.0, high, low));
    }
    if let Some(moisture) = zone.moisture_pct {
        let full = zone.high_pct.map_or(moisture, |high| moisture.min(high));
        drawing = drawing.child(block("fill", 30.0, 70.0, full, 0.0));
        drawing = drawing.child(block("excess", 30.0, 70.0, moisture, full));
    }
    drawing.children(zone.expected_pct.map(|expected| {
        let depth = scale.depth(expected);
        Element::new("path").class("expected").attribute("d", format_args!("M0 {depth:.2}H100"))
    }))
}

#[cfg(test)]
mod tests {
    use super::{Scale, item};
    use crate::status::{LineStatus, ZoneStatus};

    fn zone(moisture_pct: f64) -> ZoneStatus {
        let (low_pct, high_pct) = (Some(4.1), Some(5.7));
        ZoneStatus { zone: 3, moisture_pct: Some(moisture_pct), low_pct, high_pct, ..ZoneStatus::default() }
    }

    fn scale_of(zone: ZoneStatus) -> Scale {
        Scale::of(&[LineStatus { zones: vec![zone], ..LineStatus::default() }])
    }

    #[test]
    fn says_on_which_side_of_the_band_a_zone_is() {
        for (moisture, words) in
            [(6.2, "▲ </span>0.5 above 4.1"), (5.0, "</span>normal 4.1"), (3.1, "▼ </span>1.0 below 4.1")]
        {
            let markup = item(&zone(moisture), scale_of(zone(moisture))).to_string();
            assert!(markup.contains(words), "{markup}");
        }
        let unjudged = ZoneStatus { low_pct: None, high_pct: None, ..zone(6.2) };
        assert!(item(&unjudged, scale_of(unjudged)).to_string().contains("no normal now"));
    }

    #[test]
    fn the_scale_leaves_room_above_the_highest_figure() {
        assert_eq!(scale_of(zone(37.0)).top_pct, 40.0);
        assert_eq!(scale_of(zone(38.5)).top_pct, 50.0);
        assert_eq!(scale_of(zone(f64::NAN)).top_pct, 10.0);
    }
}
