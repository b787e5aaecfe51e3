//! Pictures of a run as inline SVG: moisture or temperature over the place or over the time in the oven.

use super::review::{Point, RunReview, ZoneSeen};

const WIDTH: f64 = 860.0;
const HEIGHT: f64 = 240.0;
const LEFT: f64 = 46.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 22.0;
const BOTTOM: f64 = 34.0;

/// What is drawn, over the place or over the time.
pub(super) struct Chart {
    pub(super) title: &'static str,
    pub(super) unit: &'static str,
    pub(super) value: fn(&Point) -> Option<f64>,
    pub(super) sensor: fn(&ZoneSeen) -> Option<f64>,
    /// Low and high end of the normal.
    pub(super) normal: fn(&ZoneSeen) -> Option<(f64, f64)>,
}

/// What the width counts.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Along {
    /// m from the mouth.
    Place,
    /// min since the logger entered.
    Time,
}

impl Chart {
    /// The chart as an SVG element.
    pub(super) fn draw(&self, run: &RunReview, along: Along) -> String {
        let title = format!("{} by {}", self.title, along.name());
        let points: Vec<(f64, Option<f64>)> =
            run.profile.iter().map(|point| (along.x_of(point), (self.value)(point))).collect();
        let borders = along.borders(run);
        let right = borders.last().copied().unwrap_or(1.0);
        let known = points.iter().filter_map(|(_, value)| *value);
        let highest = known.chain(run.zones.iter().filter_map(|zone| Some((self.normal)(zone)?.1))).fold(0.0, f64::max);
        let step = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0].into_iter().find(|step| highest / step <= 6.0).unwrap_or(100.0);
        let top = (highest / step).ceil().max(1.0) * step;
        let x = |value: f64| LEFT + (WIDTH - LEFT - RIGHT) * value / right;
        let y = |value: f64| HEIGHT - BOTTOM - (HEIGHT - BOTTOM - TOP) * value / top;
        let mut drawn = format!(
            "<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"{title}\">\n{}",
            text("start", 0.0, 12.0, &format!("{title}, {}", self.unit))
        );
        for line in 0..=(top / step).round() as u32 {
            let value = f64::from(line) * step;
            let height = y(value);
            drawn += &format!(
                "<line class=\"grid\" x1=\"{LEFT}\" x2=\"{:.1}\" y1=\"{height:.1}\" y2=\"{height:.1}\"/>\n",
                WIDTH - RIGHT
            );
            drawn += &text("end", LEFT - 6.0, height + 4.0, &value.to_string());
        }
        for (zone, (ends, seen)) in borders.windows(2).zip(&run.zones).enumerate() {
            let (from, to) = (x(ends[0]), x(ends[1]));
            if let Some((low, high)) = (self.normal)(seen) {
                let (head, foot) = (y(high), y(low));
                drawn += &format!(
                    "<rect class=\"normal\" x=\"{from:.1}\" y=\"{head:.1}\" width=\"{:.1}\" height=\"{:.1}\"/>\n",
                    to - from,
                    (foot - head).max(1.0)
                );
            }
            drawn += &format!(
                "<line class=\"border\" x1=\"{to:.1}\" x2=\"{to:.1}\" y1=\"{TOP}\" y2=\"{:.1}\"/>\n",
                HEIGHT - BOTTOM
            );
            drawn += &text("middle", (from + to) / 2.0, HEIGHT - 4.0, &format!("zone {}", zone + 1));
            drawn += &text("end", to, HEIGHT - 19.0, &along.label(ends[1]));
            if let Some(sensor) = (self.sensor)(seen) {
                drawn += &format!(
                    "<circle class=\"sensor\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"5\"/>\n",
                    (from + to) / 2.0,
                    y(sensor)
                );
            }
        }
        for part in points.split(|(_, value)| value.is_none()).filter(|part| !part.is_empty()) {
            let corners = part.iter().filter_map(|(at, value)| Some(format!("{:.1},{:.1}", x(*at), y((*value)?))));
            drawn += &format!("<polyline class=\"logger\" points=\"{}\"/>\n", corners.collect::<Vec<_>>().join(" "));
        }
        drawn + "</svg>\n"
    }
}

impl Along {
    fn name(self) -> &'static str {
        match self {
            Self::Place => "place",
            Self::Time => "time in the oven",
        }
    }

    fn x_of(self, point: &Point) -> f64 {
        match self {
            Self::Place => point.metre,
            Self::Time => point.seconds / 60.0,
        }
    }

    /// Where zones begin and end on the width; in time, when the logger came to their borders.
    fn borders(self, run: &RunReview) -> Vec<f64> {
        let metres = std::iter::once(0.0).chain(run.zones.iter().map(|zone| zone.ends_m));
        match self {
            Self::Place => metres.collect(),
            Self::Time => metres.map(|metre| when(run, metre)).collect(),
        }
    }

    fn label(self, value: f64) -> String {
        match self {
            Self::Place => format!("{value:.0} m"),
            Self::Time => format!("{value:.1} min"),
        }
    }
}

/// When the logger passed a place, min; beyond its last point at its mean speed.
fn when(run: &RunReview, metre: f64) -> f64 {
    let seconds = run.profile.iter().find(|point| point.metre >= metre).map(|point| point.seconds / 60.0);
    seconds.unwrap_or(metre / run.band_speed_m_min)
}

fn text(anchor: &str, x: f64, y: f64, text: &str) -> String {
    format!("<text text-anchor=\"{anchor}\" x=\"{x:.1}\" y=\"{y:.1}\">{text}</text>\n")
}
