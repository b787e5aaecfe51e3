//! What happens in the bakery, and when: the script of a simulation.

use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};

use crate::sensor::Fault;
use crate::tag::Tag;

/// Everything that happens on all lines. A line without a [`What::Run`] bakes its first product
/// from the start; on its own it changes nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Schedule {
    pub(crate) happenings: Vec<Happening>,
}

/// One thing that happens on one line.
#[derive(Debug, Clone, PartialEq)]
pub struct Happening {
    /// Id of the line.
    pub line: Arc<str>,
    /// When it begins.
    pub at: DateTime<Utc>,
    /// What it is.
    pub what: What,
}

/// A kind of happening.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// What the line bakes when the simulation starts.
    Run(Run),
    /// The feed stops, the oven empties, steam goes off, and another product comes on.
    Changeover {
        /// What comes.
        to: Run,
        /// How long no dough enters.
        empty_for: TimeDelta,
    },
    /// The band changes its speed for a while.
    RateChange(RateChange),
    /// No dough enters for a moment; everything else goes on.
    Gap {
        /// How long.
        lasts: TimeDelta,
    },
    /// The band stands with dough in the oven, and steam is shut.
    Stop {
        /// How long.
        lasts: TimeDelta,
    },
    /// The oven empties and its burners go out; later it is heated again.
    Rest {
        /// How long after the beginning burners are lit.
        cold_for: TimeDelta,
        /// How long heating takes until dough enters.
        heating_for: TimeDelta,
        /// What is baked then.
        then: Run,
    },
    /// A sensor, or what carries its readings, is faulty for a while.
    Fault {
        /// Which signal; all of the line if none is named.
        tag: Option<Tag>,
        /// What is wrong with it.
        fault: Fault,
        /// How long.
        lasts: TimeDelta,
    },
    /// Something about the oven shifts and comes back later.
    Disturbance {
        /// What shifts, and how far.
        shift: Shift,
        /// How long the shift takes.
        over: TimeDelta,
        /// How long until it is put right, counted from the beginning.
        lasts: TimeDelta,
    },
}

/// A product at a band speed.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Code of the product.
    pub product: String,
    /// Band speed as a ratio to the nominal one.
    pub rate: f64,
}

impl Run {
    /// This product at its nominal speed.
    pub fn nominal(product: &str) -> Self {
        Self { product: product.into(), rate: 1.0 }
    }
}

/// A change of band speed and what the crew does about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RateChange {
    /// Speed added, % of the speed before; below 0 for a fall.
    pub by_pct: f64,
    /// How long the change takes; long for a creep.
    pub over: TimeDelta,
    /// How long until the speed returns, counted from the beginning.
    pub lasts: TimeDelta,
    /// What the crew does about it.
    pub response: Response,
}

impl RateChange {
    /// A change made at once.
    pub fn sudden(by_pct: f64, lasts: TimeDelta, response: Response) -> Self {
        Self { by_pct, over: TimeDelta::seconds(40), lasts, response }
    }
}

/// What the crew does about a rate change, and what the plant does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Response {
    /// The crew sets dampers and steam so that the profile holds.
    Dampers,
    /// The crew holds zones 1 and 2 by steam alone, the later ones by their dampers.
    Steam,
    /// Nobody touches anything.
    NoVenting,
    /// The crew does half of what is needed.
    HalfVenting,
    /// Nobody touches anything, and steam falls away with the rise.
    SteamStarved {
        /// Steam lost, % of the flow before.
        by_pct: f64,
    },
    /// The crew does all that is needed, but late.
    LateVenting {
        /// How long after the change.
        after: TimeDelta,
    },
    /// The band does not change at all: its speed signal lies.
    LyingSpeedTag,
}

impl Response {
    /// Whether the profile is held, apart from the few minutes that a crew needs.
    pub fn matched(self) -> bool {
        matches!(self, Self::Dampers | Self::Steam)
    }
}

/// Something that shifts without anybody meaning it to. Zones count from 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shift {
    /// A damper moves away from where it was set.
    Damper {
        /// The zone.
        zone: usize,
        /// How far, percent points of opening.
        by_pct: f64,
    },
    /// The steam flow changes: a dead injector, a valve half shut, steam left on too long.
    Steam {
        /// How far, % of the flow.
        by_pct: f64,
    },
    /// A zone's temperature moves away from its setpoint.
    Temperature {
        /// The zone.
        zone: usize,
        /// How far, °C.
        by_c: f64,
    },
    /// The air that the oven draws in gets more humid: a sultry night.
    MakeUpHumidity {
        /// How far, kg water per kg dry air.
        by: f64,
    },
}

impl Schedule {
    /// Nothing happens: every line bakes its first product on and on.
    pub fn quiet() -> Self {
        Self::default()
    }

    /// The same, and this.
    #[must_use]
    pub fn with(mut self, line: &str, at: DateTime<Utc>, what: What) -> Self {
        self.add(line, at, what);
        self
    }

    /// Adds a happening.
    pub fn add(&mut self, line: &str, at: DateTime<Utc>, what: What) {
        self.happenings.push(Happening { line: line.into(), at, what });
    }

    /// Everything that happens, in the order in which it was added.
    pub fn happenings(&self) -> &[Happening] {
        &self.happenings
    }
}
