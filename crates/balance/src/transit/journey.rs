//! Where the logger was when.

use physics::units::{Celsius, Metre, MetrePerMinute, MoistureFraction};
use reading::{Line, Timestamp};

/// Air this much warmer than the logger's first sample is oven air: no hall warms so far.
const ENTERED_ABOVE_K: f64 = 40.0;

/// What the logger showed at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// When.
    pub time: Timestamp,
    /// Air temperature.
    pub temperature: Celsius,
    /// Moisture by volume; none where it shows none.
    pub moisture: Option<MoistureFraction>,
}

/// A sample with its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// What the logger showed.
    pub sample: Sample,
    /// Time since it entered the oven, s.
    pub seconds: f64,
    /// Distance from the mouth of the oven.
    pub metre: Metre,
    /// The zone, counted from 0.
    pub zone: usize,
}

/// A run laid on the zones: the samples that lie in the oven, in order of time.
#[derive(Debug, Clone, PartialEq)]
pub struct Journey {
    /// When it entered.
    pub entered: Timestamp,
    /// The samples in the oven.
    pub places: Vec<Place>,
    /// Mean band speed.
    pub speed: MetrePerMinute,
    /// Where each zone begins and the last one ends: one more than there are zones.
    pub borders: Vec<Metre>,
}

/// Why samples give no journey.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoJourney {
    /// Nothing to lay.
    #[error("the run has {0} samples; it takes two at least")]
    TooFew(usize),
    /// It never got warm.
    #[error(
        "no sample is {ENTERED_ABOVE_K} degC warmer than the first one, so nobody knows when the logger entered the oven; write --entered"
    )]
    NeverEntered,
    /// It said nothing inside.
    #[error("no two samples lie in the oven: it is {length:.1} m long, entered at {entered}")]
    NothingInside {
        /// Length of the oven, m.
        length: f64,
        /// When it was entered.
        entered: Timestamp,
    },
}

/// Lays samples, in order of time, on the zones of a line. The logger enters at `entered`, else half a sample before
/// the first that is much warmer than the first of all.
///
/// `speed` gives the band speed at a moment, m/min; one below 0 counts as 0.
///
/// # Errors
/// Too few samples, none of them warm, or none inside.
pub fn lay(
    samples: &[Sample],
    line: &Line,
    entered: Option<Timestamp>,
    speed: impl Fn(Timestamp) -> MetrePerMinute,
) -> Result<Journey, NoJourney> {
    if samples.len() < 2 {
        return Err(NoJourney::TooFew(samples.len()));
    }
    let cold = samples[0].temperature.0;
    let first_warm = || {
        let warm = samples.iter().position(|sample| sample.temperature.0 > cold + ENTERED_ABOVE_K)?;
        // Between the last cold and the first warm sample.
        let before = samples[warm.saturating_sub(1)].time;
        Some(Timestamp(before.0 + (samples[warm].time.0 - before.0) / 2))
    };
    let entered = entered.or_else(first_warm).ok_or(NoJourney::NeverEntered)?;
    let borders = borders(line);
    let length = line.length().0;
    let (mut metre, mut now) = (0.0, entered);
    let mut places = Vec::new();
    for sample in samples.iter().filter(|sample| sample.time >= entered) {
        let seconds = (sample.time - now).as_seconds();
        metre += speed(Timestamp(now.0 + (sample.time.0 - now.0) / 2)).0.max(0.0) / 60.0 * seconds;
        now = sample.time;
        if metre > length {
            break;
        }
        let zone = borders.partition_point(|border| border.0 <= metre).saturating_sub(1).min(line.zones.len() - 1);
        places.push(Place { sample: *sample, seconds: (now - entered).as_seconds(), metre: Metre(metre), zone });
    }
    match places.last() {
        Some(last) if places.len() > 1 && last.metre.0 > 0.0 => {
            let speed = MetrePerMinute(60.0 * last.metre.0 / last.seconds);
            Ok(Journey { entered, places, speed, borders })
        }
        _ => Err(NoJourney::NothingInside { length, entered }),
    }
}

fn borders(line: &Line) -> Vec<Metre> {
    let mut borders = vec![Metre(0.0)];
    for zone in &line.zones {
        borders.push(Metre(borders[borders.len() - 1].0 + zone.length.0));
    }
    borders
}

impl Journey {
    /// Whether the run reaches into the last zone.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.places.last().is_some_and(|last| last.zone + 2 == self.borders.len())
    }

    /// The samples in the middle third of a zone, counted from 0.
    pub(crate) fn middle(&self, zone: usize) -> impl Iterator<Item = &Place> {
        let (begins, ends) = (self.borders[zone].0, self.borders[zone + 1].0);
        let third = (ends - begins) / 3.0;
        self.places.iter().filter(move |place| (begins + third..=ends - third).contains(&place.metre.0))
    }

    /// When the logger passed a place, interpolated; none beyond the last sample.
    #[must_use]
    pub fn passed(&self, metre: Metre) -> Option<Timestamp> {
        let next = self.places.iter().find(|place| place.metre >= metre)?;
        Some(next.sample.time)
    }
}
