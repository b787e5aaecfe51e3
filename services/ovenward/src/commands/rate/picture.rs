//! The profiles as pictures in the sheet.

use std::fmt::Write;

use balance::review::{Profile, Review, ZoneProfile};

const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 250.0;
const LEFT: f64 = 40.0;
const BOTTOM: f64 = 28.0;
const TOP: f64 = 16.0;

/// The usual profile, the one asked for with its band, the normal's answer, and the ceilings.
pub(super) fn profiles(review: &Review) -> String {
    let zones = review.untouched.zones.len().max(1);
    let highs = [&review.usual.zones, &review.untouched.zones].into_iter().flatten().map(|zone| zone.high_pct);
    let most = (highs.fold(10.0, f64::max) / 10.0).ceil() * 10.0;
    let x = |index: usize| LEFT + (WIDTH - LEFT) * (index as f64 + 0.5) / zones as f64;
    let y = |moisture: f64| TOP + (HEIGHT - TOP - BOTTOM) * (1.0 - moisture / most);
    let mut svg = format!(
        "<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"Moisture by zone at {:.2} m/min\">\n",
        review.speed_m_min
    );
    for step in 0..=4 {
        let moisture = most * f64::from(step) / 4.0;
        let at = y(moisture);
        let _ = writeln!(svg, "<line class=\"grid\" x1=\"{LEFT}\" x2=\"{WIDTH}\" y1=\"{at:.1}\" y2=\"{at:.1}\"/>");
        let _ = writeln!(
            svg,
            "<text x=\"0\" y=\"{:.1}\">{moisture:.0}{}</text>",
            at + 4.0,
            if step == 4 { " % vol" } else { "" }
        );
    }
    let corners = |zones: &[ZoneProfile], of: fn(&ZoneProfile) -> f64| -> Vec<String> {
        zones.iter().enumerate().map(|(index, zone)| format!("{:.1},{:.1}", x(index), y(of(zone)))).collect()
    };
    let asked = &review.untouched.zones;
    let mut band = corners(asked, |zone| zone.high_pct);
    band.extend(corners(asked, |zone| zone.low_pct).into_iter().rev());
    let _ = writeln!(svg, "<polygon class=\"band\" points=\"{}\"/>", band.join(" "));
    let lines = [("usual", Some(&review.usual.zones)), ("normal", review.by_normal.as_ref()), ("asked", Some(asked))];
    for (class, zones) in lines.into_iter().filter_map(|(class, zones)| zones.map(|zones| (class, zones))) {
        let points = corners(zones, |zone| zone.moisture_pct).join(" ");
        let _ = writeln!(svg, "<polyline class=\"{class}\" points=\"{points}\"/>");
    }
    for (index, zone) in asked.iter().enumerate() {
        let ceiling = review.ceilings.iter().find(|ceiling| ceiling.zone == zone.zone);
        let above = ceiling.is_some_and(|ceiling| zone.moisture_pct > ceiling.moisture_pct);
        if let Some(ceiling) = ceiling {
            let (at, half) = (y(ceiling.moisture_pct), 26.0);
            let (from, to) = (x(index) - half, x(index) + half);
            let class = if above { "ceiling act" } else { "ceiling" };
            let _ = writeln!(
                svg,
                "<line class=\"{class}\" x1=\"{from:.1}\" x2=\"{to:.1}\" y1=\"{at:.1}\" y2=\"{at:.1}\"/>"
            );
        }
        let (class, mark) = if above { ("act", "! ") } else { ("", "") };
        let _ = writeln!(
            svg,
            "<circle class=\"dot {class}\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"3.5\"/>",
            x(index),
            y(zone.moisture_pct)
        );
        let _ = writeln!(
            svg,
            "<text class=\"{class}\" text-anchor=\"middle\" x=\"{:.1}\" y=\"{:.1}\">{mark}{:.1}</text>",
            x(index),
            y(zone.high_pct) - 8.0,
            zone.moisture_pct
        );
        let _ = writeln!(
            svg,
            "<text text-anchor=\"middle\" x=\"{:.1}\" y=\"{:.1}\">zone {}</text>",
            x(index),
            HEIGHT - 8.0,
            zone.zone
        );
    }
    svg + "</svg>\n<p class=\"small\">Line: untouched, with its band (90 of 100). Dashes: usual. Dots: the learned normal's own \
           answer. Bars: ceilings of the late zones; ! is above.</p>\n"
}

/// A remedy's profile in small, beside the ceilings.
pub(super) fn bars(profile: &Profile, review: &Review) -> String {
    let (width, height) = (176.0, 78.0);
    let most = review.untouched.zones.iter().chain(&profile.zones).map(|zone| zone.moisture_pct).fold(10.0, f64::max);
    let each = width / profile.zones.len().max(1) as f64;
    let mut svg =
        format!("<svg viewBox=\"0 0 {width} {height}\" role=\"img\" aria-label=\"Moisture by zone, % vol\">\n");
    for (index, zone) in profile.zones.iter().enumerate() {
        let tall = |moisture: f64| (height - 28.0) * moisture / most;
        let (x, bar) = (each * index as f64, tall(zone.moisture_pct));
        let ceiling = review.ceilings.iter().find(|ceiling| ceiling.zone == zone.zone);
        let above = ceiling.is_some_and(|ceiling| zone.moisture_pct > ceiling.moisture_pct);
        let (class, mark) = if above { ("act", "!") } else { ("", "") };
        let floor = height - 14.0;
        let _ = writeln!(
            svg,
            "<rect class=\"bar {class}\" x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{bar:.1}\"/>\n\
             <text class=\"{class}\" text-anchor=\"middle\" x=\"{:.1}\" y=\"{:.1}\">{mark}{:.1}</text>\n\
             <text text-anchor=\"middle\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            x + 0.15 * each,
            floor - bar,
            0.7 * each,
            x + 0.5 * each,
            floor - bar - 3.0,
            zone.moisture_pct,
            x + 0.5 * each,
            height - 2.0,
            zone.zone
        );
        if let Some(ceiling) = ceiling {
            let at = floor - tall(ceiling.moisture_pct);
            let (from, to) = (x + 0.05 * each, x + 0.95 * each);
            let _ = writeln!(
                svg,
                "<line class=\"ceiling\" x1=\"{from:.1}\" x2=\"{to:.1}\" y1=\"{at:.1}\" y2=\"{at:.1}\"/>"
            );
        }
    }
    svg + "</svg>\n"
}
