//! The people at the ovens: each crew has its habits.

use std::ops::Range;

/// How a crew runs an oven.
#[derive(Debug, Clone, PartialEq)]
pub struct Crew {
    /// What the bakery calls them.
    pub name: String,
    /// Exhaust they draw, as a ratio to the recipe.
    pub venting: f64,
    /// Steam they inject, as a ratio to the recipe.
    pub steam: f64,
    /// Spread of the exhaust they set about what they aim at, as a share (one standard deviation).
    pub scatter: f64,
    /// Seconds they take from a rate change to the dampers.
    pub reaction_s: Range<f64>,
}

impl Crew {
    fn new(name: &str, venting: f64, steam: f64, reaction_s: Range<f64>) -> Self {
        Self { name: name.into(), venting, steam, scatter: 0.015, reaction_s }
    }

    /// Three crews: one by the book, one that runs the oven dry and fast, one that likes steam.
    pub fn three() -> Vec<Self> {
        vec![
            Self::new("red", 1.00, 1.00, 60.0..180.0),
            Self::new("green", 1.04, 0.97, 60.0..120.0),
            Self::new("blue", 0.97, 1.04, 120.0..300.0),
        ]
    }

    /// The same crew, but slow to the dampers.
    #[must_use]
    pub fn reacting_within(mut self, reaction_s: Range<f64>) -> Self {
        self.reaction_s = reaction_s;
        self
    }
}
