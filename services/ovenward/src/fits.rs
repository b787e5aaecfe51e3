//! How well the approved normals still fit: each shift is looked at once, and what was found is kept in the store.

use std::sync::Arc;

use alert::Normals;
use anyhow::Result;
use normal_profile::{Normal, ShiftFit, Slip, slipping};
use reading::{LineIndex, Plant, ShiftCalendar, ShiftInstance, Span, Timestamp, Window};
use serde::{Deserialize, Serialize};
use store::Store;

use crate::config::Settings;
use crate::stored;

/// Late readings of a shift are waited for this long.
pub(crate) const SETTLE: Span = Span::minutes(5);
/// Shifts at which nobody looked are caught up with this far back: reading them takes time.
const CATCH_UP: Span = Span::minutes(14 * 24 * 60);
/// Zones whose median lies fewer standard deviations off are not named.
const WORTH_NAMING: f64 = 1.0;

/// Looks at every shift that has ended since last time, and gives the approved normals that no longer
/// fit, in order of their ids. It changes no normal: a person learns again, compares and approves.
///
/// # Errors
/// The store cannot be read or written.
pub fn slips(
    store: &Store,
    plant: &Arc<Plant>,
    normals: &Normals,
    settings: &Settings,
) -> Result<Vec<(Arc<Normal>, Slip)>> {
    let Some((_, newest)) = store.span()? else { return Ok(Vec::new()) };
    let mut slips = Vec::new();
    for line in (0..plant.lines.len()).map(LineIndex) {
        let of_line = normals.iter().filter(|((of, _), _)| *of == line);
        let mut books = of_line.map(|(_, normal)| Book::open(store, normal, newest)).collect::<Result<Vec<_>>>()?;
        let Some(from) = books.iter().map(|book| book.followed.until).min() else { continue };
        let ended = |shift: &ShiftInstance| shift.starts >= from && shift.ends + SETTLE <= newest;
        for shift in plant.shifts.between(from, newest).into_iter().filter(ended) {
            let windows = stored::windows(store, plant, line, shift.starts, shift.ends, &settings.detection)?;
            books.iter_mut().for_each(|book| book.take(&shift, &windows));
        }
        for book in books {
            book.keep(store)?;
            slips.extend(slipping(&book.followed.fits).map(|slip| (book.normal, slip)));
        }
    }
    slips.sort_by_key(|(normal, _)| normal.key().to_string());
    Ok(slips)
}

/// The shifts of one normal at which somebody looked.
struct Book {
    normal: Arc<Normal>,
    followed: Followed,
}

/// What is kept of them.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Followed {
    /// Of the data that the normal was learned from: another normal of the same id has another.
    checksum: String,
    /// Up to the end of this shift.
    until: Timestamp,
    fits: Vec<ShiftFit>,
}

impl Book {
    fn open(store: &Store, normal: &Arc<Normal>, newest: Timestamp) -> Result<Self> {
        let data = &normal.record().data;
        let kept: Option<Followed> = store.meta(&noted(normal))?.map(|json| serde_json::from_str(&json)).transpose()?;
        let mut followed = kept.filter(|kept| kept.checksum == data.checksum).unwrap_or_else(|| Followed {
            checksum: data.checksum.clone(),
            until: Timestamp(data.to_us),
            fits: Vec::new(),
        });
        followed.until = followed.until.max(newest - CATCH_UP);
        Ok(Self { normal: normal.clone(), followed })
    }

    fn take(&mut self, shift: &ShiftInstance, windows: &[Window]) {
        if shift.starts < self.followed.until {
            return;
        }
        let product = Some(Arc::from(self.normal.key().product.as_str()));
        self.followed.fits.extend(self.normal.shift_fit(&alert::history::observations(windows, &product)));
        self.followed.until = shift.ends;
    }

    fn keep(&self, store: &Store) -> Result<()> {
        Ok(store.set_meta(&noted(&self.normal), &serde_json::to_string(&self.followed)?)?)
    }
}

/// Where what was found of a normal is kept.
fn noted(normal: &Normal) -> String {
    format!("normal-fit/{}", normal.key())
}

/// What a slip is, where it lies, and what to do about it: a line each.
#[must_use]
pub fn in_words(normal: &Normal, slip: &Slip, calendar: &ShiftCalendar) -> [String; 3] {
    let key = normal.key();
    let since = calendar.date(Timestamp(slip.since_us));
    let outside = slip.outside * 100.0;
    [
        format!("{key} is slipping since {since}: {outside:.0} % of the windows lie where 5 % lay when it was learned"),
        zones_in_words(slip),
        format!(
            "if it is run well as it is now, learn again and compare: \
             ovenward learn --line {} --product {} --from {since}",
            key.line, key.product
        ),
    ]
}

/// Such as "zone 2 9 % wetter, zone 3 4 degC hotter".
fn zones_in_words(slip: &Slip) -> String {
    let side = |by: f64, more: &'static str, less: &'static str| if by > 0.0 { more } else { less };
    let mut told = Vec::new();
    for (index, zone) in slip.zones.iter().enumerate() {
        let humidity = Some(zone.ln_humidity).filter(|shift| shift.z.abs() >= WORTH_NAMING);
        told.extend(humidity.map(|shift| {
            let by = 100.0 * shift.by.exp_m1();
            format!("zone {} {:.0} % {}", index + 1, by.abs(), side(by, "wetter", "drier"))
        }));
        let temperature = zone.temperature.filter(|shift| shift.z.abs() >= WORTH_NAMING);
        told.extend(temperature.map(|shift| {
            format!("zone {} {:.0} degC {}", index + 1, shift.by.abs(), side(shift.by, "hotter", "cooler"))
        }));
    }
    if told.is_empty() { "no single zone stands out".into() } else { told.join(", ") }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use normal_profile::{LearnSettings, NormalKey, Observation, learn};
    use physics::units::{HumidityRatio, MetrePerMinute};
    use reading::{RunningState, ZoneWindow};

    use super::*;

    fn normal() -> Arc<Normal> {
        let observation = |at: i64| Observation {
            time_us: at * 30_000_000,
            run: (at / 250) as u32,
            speed: MetrePerMinute(1.2 + 0.01 * (at % 7) as f64),
            ln_humidity: vec![-1.0 + 0.01 * (at % 11) as f64],
            temperature: Vec::new(),
        };
        let windows: Vec<Observation> = (0..750).map(observation).collect();
        let key = NormalKey { site: "millbrook".into(), line: "tunnel-1".into(), product: "T800".into(), version: 1 };
        Arc::new(learn(key, &windows, &[], &LearnSettings { max_components: 1, ..LearnSettings::default() }).unwrap())
    }

    fn shift(starts: Timestamp) -> ShiftInstance {
        ShiftInstance { date: Default::default(), name: "early".into(), starts, ends: starts + Span::minutes(480) }
    }

    fn windows(shift: &ShiftInstance) -> Vec<Window> {
        let window = |at: i64| {
            let (starts, ends) = (shift.starts + Span::seconds(30 * at), shift.starts + Span::seconds(30 * at + 30));
            Window {
                product: Some("T800".into()),
                band_speed: Some(MetrePerMinute(1.22)),
                zones: vec![ZoneWindow { humidity: Some(HumidityRatio(0.38)), ..ZoneWindow::default() }],
                ..Window::unmeasured(LineIndex(0), starts, ends, RunningState::Baking)
            }
        };
        (0..100).map(window).collect()
    }

    #[test]
    fn a_shift_counts_once_and_one_that_taught_the_normal_not_at_all() {
        let normal = normal();
        let learned_until = Timestamp(normal.record().data.to_us);
        let followed = Followed { checksum: String::new(), until: learned_until, fits: Vec::new() };
        let mut book = Book { normal, followed };
        let taught = shift(Timestamp(0));
        book.take(&taught, &windows(&taught));
        assert_eq!(book.followed.fits.len(), 0);
        let next = shift(taught.ends);
        book.take(&next, &windows(&next));
        book.take(&next, &windows(&next));
        assert_eq!((book.followed.fits.len(), book.followed.until), (1, next.ends));
        assert_eq!(book.followed.fits[0].windows, 100);
    }
}
