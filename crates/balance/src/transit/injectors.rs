//! Which injectors gave steam: a working one makes the air wetter just behind it.

use physics::units::Metre;

use super::journey::Journey;

/// Before and behind an injector the air is looked at over this length, m.
const REACH: f64 = 0.25;
/// An injector behind which moisture rises by less than this, share by volume, gave nothing: it is a logger's scatter,
/// and behind a dead injector the plume of the one before fades.
const LEAST_RISE: f64 = 0.005;

/// What a run shows of one injector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Injector {
    /// Its distance from the mouth of the oven.
    pub metre: Metre,
    /// Rise of moisture from before to behind it, share by volume; none if the logger has no sample on either side.
    pub rise: Option<f64>,
    /// Whether it gave steam; none if nobody can tell.
    pub works: Option<bool>,
}

/// Looks at each injector, by its place on the band.
#[must_use]
pub fn injectors(journey: &Journey, places: &[Metre]) -> Vec<Injector> {
    let mean = |from: f64, to: f64| {
        let within = journey.places.iter().filter(|place| (from..to).contains(&place.metre.0));
        let values: Vec<f64> = within.filter_map(|place| place.sample.moisture).map(|moisture| moisture.0).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    let rise = |place: &Metre| Some(mean(place.0, place.0 + REACH)? - mean(place.0 - REACH, place.0)?);
    let rises: Vec<Option<f64>> = places.iter().map(rise).collect();
    let works = |rise: f64| rise >= LEAST_RISE;
    places.iter().zip(rises).map(|(metre, rise)| Injector { metre: *metre, rise, works: rise.map(works) }).collect()
}
