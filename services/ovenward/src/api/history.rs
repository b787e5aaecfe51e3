//! The figures of a line over time: from what was heard of late where that suffices, from the store beyond.

use std::sync::Arc;

use alert::rise::RiseTracker;
use physics::air;
use physics::units::HumidityRatio;
use reading::{LineIndex, Span, Timestamp, Window, ZoneWindow};
use web::api::{History, HistoryQuery, Refusal, Rise, ZoneHistory};

use super::{Api, failed, rounded, timestamp};
use crate::service::state_word;
use crate::stored;

/// Without a beginning, so far back.
const USUAL: Span = Span::minutes(4 * 60);
/// The longest history at once: reading it takes seconds.
const LONGEST: Span = Span::minutes(3 * 24 * 60);
/// A window.
const SHORTEST_STEP: Span = Span::seconds(30);
/// So many steps where nobody says how long one is: as many as a screen has columns.
const USUAL_STEPS: i64 = 1440;
/// The most steps at once.
const MOST_STEPS: i64 = 5000;
/// A rise needs a level before it.
const LEVEL: Span = Span::minutes(60);
/// What the band does this long after a rise began is another rise.
const ONE_RISE: Span = Span::minutes(30);

/// From when to when, in which steps.
struct Grid {
    from: Timestamp,
    to: Timestamp,
    step: Span,
}

impl Api {
    pub(super) fn history_of(&self, id: &str, query: HistoryQuery) -> Result<History, Refusal> {
        let (line, described) = self.line(id)?;
        let recent = self.recent.windows(line);
        let newest = recent.last().map_or_else(|| self.clock.now(), |window| window.ends);
        let grid = Grid::of(query, newest)?;
        let windows = self.windows(line, recent, &grid)?;
        let steps = grid.lay(&windows);
        let column = |figure: &dyn Fn(&Window) -> Option<f64>, decimals| -> Vec<Option<f64>> {
            steps
                .iter()
                .map(|step| mean(step.iter().filter_map(|window| figure(window))).map(|it| rounded(it, decimals)))
                .collect()
        };
        let zone = |index: usize| {
            let of_zone = |figure: fn(&ZoneWindow) -> Option<f64>| {
                move |window: &Window| window.zones.get(index).and_then(figure)
            };
            let humidity = column(&of_zone(|zone| zone.humidity.map(|it| it.0)), 6);
            ZoneHistory {
                zone: index + 1,
                air_temperature_c: column(&of_zone(|zone| zone.air_temperature.map(|it| it.0)), 2),
                dew_point_c: humidity.iter().map(|it| self.dew_point((*it)?).map(|it| rounded(it, 2))).collect(),
                moisture_pct: humidity.iter().map(|it| moisture_pct((*it)?).map(|it| rounded(it, 3))).collect(),
                humidity_ratio: humidity,
                exhaust_damper_pct: column(&of_zone(|zone| zone.exhaust_damper), 2),
            }
        };
        Ok(History {
            line: id.into(),
            from: grid.from.to_string(),
            to: grid.to.to_string(),
            step_s: grid.step.as_seconds(),
            time: (0..steps.len() as i64).map(|step| (grid.from + Span(step * grid.step.0)).to_string()).collect(),
            state: steps.iter().map(|step| step.last().map_or("unknown", |window| state_word(window)).into()).collect(),
            product: steps
                .iter()
                .map(|step| step.iter().rev().find_map(|window| window.product.as_ref().map(ToString::to_string)))
                .collect(),
            band_speed_m_min: column(&|window| window.band_speed.map(|it| it.0), 4),
            steam_kg_h: column(&|window| window.steam_flow, 2),
            steam_valve_pct: column(&|window| window.steam_valve, 2),
            zones: (0..described.zones.len()).map(zone).collect(),
            rises: self.rises(&windows, &grid),
        })
    }

    /// The windows of the grid, and those of an hour before it.
    fn windows(&self, line: LineIndex, recent: Vec<Arc<Window>>, grid: &Grid) -> Result<Vec<Arc<Window>>, Refusal> {
        let from = grid.from - LEVEL;
        let mut windows = if recent.first().is_some_and(|oldest| oldest.starts <= grid.from) {
            recent
        } else {
            let stored = stored::windows(&self.store, &self.plant, line, from, grid.to, &self.settings.detection);
            stored.map_err(failed)?.into_iter().map(Arc::new).collect()
        };
        windows.retain(|window| window.starts >= from && window.starts < grid.to);
        Ok(windows)
    }

    /// The rises that began within the grid.
    fn rises(&self, windows: &[Arc<Window>], grid: &Grid) -> Vec<Rise> {
        let mut tracker = RiseTracker::new(self.settings.detection);
        let mut rises: Vec<(Timestamp, Rise)> = Vec::new();
        for window in windows {
            let Some(rise) = tracker.observe(window).cloned() else { continue };
            let shown = Rise {
                began: rise.began.to_string(),
                before_m_min: rounded(rise.before.0, 4),
                after_m_min: rounded(rise.after.0, 4),
                rise_pct: rounded((rise.ln_change().exp() - 1.0) * 100.0, 2),
            };
            match rises.last_mut().filter(|(began, _)| *began == rise.began) {
                Some((_, last)) if last.after_m_min < shown.after_m_min => *last = shown,
                Some(_) => {}
                None => rises.push((rise.began, shown)),
            }
            if tracker.has_slowed() || window.ends - rise.began >= ONE_RISE {
                tracker.settle(window.ends);
            }
        }
        rises.into_iter().filter(|(began, _)| *began >= grid.from).map(|(_, rise)| rise).collect()
    }

    /// Dew point at a humidity ratio, °C.
    pub(super) fn dew_point(&self, humidity_ratio: f64) -> Option<f64> {
        let dew_point = air::dew_point_from_humidity_ratio(HumidityRatio(humidity_ratio), self.plant.pressure);
        dew_point.ok().map(|it| it.0)
    }
}

/// Moisture by volume at a humidity ratio, %.
pub(super) fn moisture_pct(humidity_ratio: f64) -> Option<f64> {
    air::moisture_from_humidity_ratio(HumidityRatio(humidity_ratio)).ok().map(|it| it.0 * 100.0)
}

impl Grid {
    fn of(query: HistoryQuery, newest: Timestamp) -> Result<Self, Refusal> {
        let to = query.period.to.map_or(newest, timestamp);
        let from = query.period.from.map_or(to - USUAL, timestamp);
        if from >= to {
            return Err(Refusal::Wrong(format!(
                "\"from\" is {from} and \"to\" is {to}. Write a beginning before the end."
            )));
        }
        if to - from > LONGEST {
            let detail =
                "More than three days are asked for. Ask for them one after the other, or for the shift tables.";
            return Err(Refusal::Wrong(detail.into()));
        }
        let usual = (to - from).0.div_euclid(USUAL_STEPS);
        let asked = query.step_s.map_or(usual, |seconds| (seconds * 1e6) as i64);
        let step = Span(Timestamp(asked + SHORTEST_STEP.0 - 1).floor(SHORTEST_STEP).0.max(SHORTEST_STEP.0));
        let grid = Self { from: from.floor(step), to, step };
        if grid.steps() > MOST_STEPS {
            let detail = format!(
                "That makes {} steps. Write a longer \"step_s\": {MOST_STEPS} are the most at once.",
                grid.steps()
            );
            return Err(Refusal::Wrong(detail));
        }
        Ok(grid)
    }

    fn steps(&self) -> i64 {
        ((self.to - self.from).0 + self.step.0 - 1).div_euclid(self.step.0)
    }

    /// The windows of each step, up to the last that has any.
    fn lay<'a>(&self, windows: &'a [Arc<Window>]) -> Vec<Vec<&'a Window>> {
        let mut steps: Vec<Vec<&Window>> = Vec::new();
        for window in windows.iter().filter(|window| window.starts >= self.from) {
            let step = (window.starts - self.from).0.div_euclid(self.step.0) as usize;
            if steps.len() <= step {
                steps.resize_with(step + 1, Vec::new);
            }
            steps[step].push(window);
        }
        steps
    }
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0_u32), |(sum, count), value| (sum + value, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}
