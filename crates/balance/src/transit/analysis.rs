//! What a run shows: zone by zone, and the figures that the trade looks at first.

use physics::units::{Celsius, Metre, MoistureFraction, Seconds};

use super::journey::{Journey, Place};

/// What the logger showed in the middle third of a zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZonePassage {
    /// How many samples that is of.
    pub samples: usize,
    /// Mean air temperature.
    pub temperature: Option<Celsius>,
    /// Mean moisture.
    pub moisture: Option<MoistureFraction>,
}

/// What a run shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Transit {
    /// One per zone.
    pub zones: Vec<ZonePassage>,
    /// The wettest sample of all.
    pub peak: Option<Place>,
    /// Fall of moisture from zone 1 to zone 2, share of zone 1; negative if it rises.
    pub drop_1_to_2: Option<f64>,
    /// Moisture of zone 3 over that of the wettest zone.
    pub zone3_to_peak: Option<f64>,
    /// Time under steam: until the end of the steam section was passed.
    pub steam_exposure: Option<Seconds>,
}

/// Looks at a run; `steam_section` is the length of band under steam from the mouth on.
#[must_use]
pub fn analyse(journey: &Journey, steam_section: Option<Metre>) -> Transit {
    let zones: Vec<ZonePassage> = (0..journey.borders.len() - 1).map(|zone| passage(journey, zone)).collect();
    let moisture = |zone: usize| zones.get(zone)?.moisture.map(|moisture| moisture.0);
    let wettest = (0..zones.len()).filter_map(moisture).fold(f64::NEG_INFINITY, f64::max);
    let known = journey.places.iter().filter(|place| place.sample.moisture.is_some());
    let wetness = |place: &Place| place.sample.moisture.map_or(f64::NEG_INFINITY, |moisture| moisture.0);
    let steam_exposure = steam_section.and_then(|section| {
        let passed = journey.passed(section)?;
        Some(Seconds((passed - journey.entered).as_seconds()))
    });
    Transit {
        peak: known.copied().max_by(|a, b| wetness(a).total_cmp(&wetness(b))),
        drop_1_to_2: moisture(0)
            .filter(|first| *first > 0.0)
            .zip(moisture(1))
            .map(|(first, second)| 1.0 - second / first),
        zone3_to_peak: moisture(2).filter(|_| wettest > 0.0).map(|third| third / wettest),
        zones,
        steam_exposure,
    }
}

fn passage(journey: &Journey, zone: usize) -> ZonePassage {
    let mean = |values: Vec<f64>| (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64);
    let temperatures = journey.middle(zone).map(|place| place.sample.temperature.0).collect();
    let moistures = journey.middle(zone).filter_map(|place| place.sample.moisture).map(|moisture| moisture.0);
    ZonePassage {
        samples: journey.middle(zone).count(),
        temperature: mean(temperatures).map(Celsius),
        moisture: mean(moistures.collect()).map(MoistureFraction),
    }
}
