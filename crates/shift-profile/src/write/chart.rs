//! A small chart of moisture by zone: mean as a line, 5 % to 95 % of the readings as a band.

use crate::row::ShiftProfileRow;

const WIDTH: f64 = 420.0;
const HEIGHT: f64 = 170.0;
const LEFT: f64 = 34.0;
const RIGHT: f64 = 16.0;
const TOP: f64 = 20.0;
const BOTTOM: f64 = 24.0;
/// Half the width a zone has in the band, so that a zone by itself is seen as well.
const HALF: f64 = 4.0;

/// The moisture at the top of every chart of a page, so that charts can be compared.
pub(super) struct Scale {
    top: f64,
    step: f64,
}

impl Scale {
    pub(super) fn of(rows: &[ShiftProfileRow]) -> Self {
        let highest = rows.iter().filter_map(|row| row.moisture_pct_p95).fold(0.0, f64::max);
        let step = [0.5, 1.0, 2.0, 5.0, 10.0].into_iter().find(|step| highest / step <= 5.0).unwrap_or(20.0);
        Self { top: (highest / step).ceil().max(1.0) * step, step }
    }

    fn y(&self, moisture: f64) -> f64 {
        HEIGHT - BOTTOM - (HEIGHT - BOTTOM - TOP) * moisture / self.top
    }

    fn gridlines(&self) -> impl Iterator<Item = f64> {
        let count = (self.top / self.step).round() as u32;
        (0..=count).map(|line| f64::from(line) * self.step)
    }
}

/// What the chart shows of one zone, where it shows it.
struct Point {
    x: f64,
    mean: f64,
    low: f64,
    high: f64,
}

/// The chart as an SVG element. A zone without humidity leaves a hole.
pub(super) fn moisture_by_zone(zones: &[ShiftProfileRow], scale: &Scale) -> String {
    let x = |index: usize| LEFT + (WIDTH - LEFT - RIGHT) * (index as f64 + 0.5) / zones.len() as f64;
    let point = |(index, row): (usize, &ShiftProfileRow)| {
        let (low, high) = (row.moisture_pct_p05?, row.moisture_pct_p95?);
        Some(Point { x: x(index), mean: row.moisture_pct_mean?, low, high })
    };
    let points: Vec<Option<Point>> = zones.iter().enumerate().map(point).collect();
    let runs = points.split(Option::is_none).map(|run| run.iter().flatten().collect::<Vec<_>>());
    let profile: String = runs.filter(|run| !run.is_empty()).map(|run| draw(&run, scale)).collect();
    let zone_names: String = zones
        .iter()
        .enumerate()
        .map(|(index, row)| text("middle", x(index), HEIGHT - 8.0, &row.zone.to_string()))
        .collect();
    format!(
        "<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"Moisture by zone, % vol\">\n{}{zone_names}{profile}</svg>\n",
        grid(scale)
    )
}

fn grid(scale: &Scale) -> String {
    let right = WIDTH - RIGHT;
    let line = |moisture: f64| {
        let y = scale.y(moisture);
        let rule = format!("<line class=\"grid\" x1=\"{LEFT}\" x2=\"{right}\" y1=\"{y:.1}\" y2=\"{y:.1}\"/>\n");
        rule + &text("end", LEFT - 6.0, y + 4.0, &moisture.to_string())
    };
    let lines: String = scale.gridlines().map(line).collect();
    lines + &text("start", 0.0, 10.0, "% vol") + &text("start", 0.0, HEIGHT - 8.0, "zone")
}

/// The band and the mean of neighbouring zones.
fn draw(run: &[&Point], scale: &Scale) -> String {
    let corner = |x: f64, moisture: f64| format!("{x:.1},{:.1}", scale.y(moisture));
    let means: Vec<String> = run.iter().map(|point| corner(point.x, point.mean)).collect();
    let highs = run.iter().flat_map(|point| [point.x - HALF, point.x + HALF].map(|x| corner(x, point.high)));
    let lows = run.iter().rev().flat_map(|point| [point.x + HALF, point.x - HALF].map(|x| corner(x, point.low)));
    let (band, means) = (highs.chain(lows).collect::<Vec<_>>().join(" "), means.join(" "));
    let marks = run.iter().map(|point| {
        let dot = format!("<circle class=\"dot\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"3\"/>\n", point.x, scale.y(point.mean));
        dot + &text("middle", point.x, scale.y(point.high) - 8.0, &format!("{:.1}", point.mean))
    });
    let marks: String = marks.collect();
    format!("<polygon class=\"band\" points=\"{band}\"/>\n<polyline class=\"mean\" points=\"{means}\"/>\n{marks}")
}

fn text(anchor: &str, x: f64, y: f64, text: &str) -> String {
    format!("<text text-anchor=\"{anchor}\" x=\"{x:.1}\" y=\"{y:.1}\">{text}</text>\n")
}
