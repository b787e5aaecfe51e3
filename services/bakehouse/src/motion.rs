//! Values that move: on purpose, and by themselves.

use rand::Rng;
use rand_distr::StandardNormal;

/// A value that someone moves, in a straight line over some time.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ramp {
    value: f64,
    target: f64,
    remaining_s: f64,
}

impl Ramp {
    pub(crate) fn at(value: f64) -> Self {
        Self { value, target: value, remaining_s: 0.0 }
    }

    pub(crate) fn value(&self) -> f64 {
        self.value
    }

    pub(crate) fn go_to(&mut self, target: f64, over_s: f64) {
        self.target = target;
        self.remaining_s = over_s.max(1.0);
    }

    pub(crate) fn scale(&mut self, by: f64, over_s: f64) {
        self.go_to(self.target * by, over_s);
    }

    pub(crate) fn shift(&mut self, by: f64, over_s: f64) {
        self.go_to(self.target + by, over_s);
    }

    pub(crate) fn step(&mut self, seconds: f64) {
        if self.remaining_s <= seconds {
            self.value = self.target;
            self.remaining_s = 0.0;
        } else {
            self.value += (self.target - self.value) * seconds / self.remaining_s;
            self.remaining_s -= seconds;
        }
    }
}

/// A value that wanders about zero and forgets where it was after some time.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wander {
    value: f64,
    keep: f64,
    kick: f64,
}

impl Wander {
    /// Wanders with this standard deviation and memory, in steps of `step_s`.
    pub(crate) fn new(deviation: f64, memory_s: f64, step_s: f64) -> Self {
        let keep = (-step_s / memory_s).exp();
        Self { value: 0.0, keep, kick: deviation * (1.0 - keep * keep).sqrt() }
    }

    pub(crate) fn step(&mut self, rng: &mut impl Rng) -> f64 {
        self.value = self.keep * self.value + self.kick * rng.sample::<f64, _>(StandardNormal);
        self.value
    }

    pub(crate) fn value(&self) -> f64 {
        self.value
    }
}
