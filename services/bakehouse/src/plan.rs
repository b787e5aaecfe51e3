//! From what happens to who does what: a schedule becomes actions at the controls of one line.

use anyhow::{Context, Result, ensure};
use chrono::{DateTime, TimeDelta, Utc};
use rand::Rng;

use crate::bakery::{Bakery, Line};
use crate::label::RETURN_OVER;
use crate::oven::Means;
use crate::rota::Rota;
use crate::schedule::{Happening, RateChange, Response, Run, Schedule, Shift, What};
use crate::sensor::Fault;
use crate::tag::Tag;

/// One move at the controls, or something that happens to them. Zones count from 0.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Action {
    Bake {
        product: usize,
        rate: f64,
    },
    Hold(Held),
    Release(Held),
    ScaleBand {
        by: f64,
        over_s: f64,
    },
    ScaleSpeedTag {
        by: f64,
        over_s: f64,
    },
    ScaleSteam {
        by: f64,
        over_s: f64,
    },
    /// The crew sets the oven for a rate that is this much higher.
    ScaleVenting {
        by: f64,
        over_s: f64,
        means: Means,
    },
    ShiftDamper {
        zone: usize,
        by: f64,
        over_s: f64,
    },
    ShiftTemperature {
        zone: usize,
        by_c: f64,
        over_s: f64,
    },
    ShiftMakeUp {
        by: f64,
        over_s: f64,
    },
    BeginFault {
        id: usize,
        tag: Option<Tag>,
        fault: Fault,
    },
    EndFault {
        id: usize,
    },
}

/// What can be held back, by more than one cause at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Held {
    Feed,
    Band,
    Steam,
    Burners,
}

/// The actions on one line, earliest first, and what it bakes at the start.
pub(crate) struct Plan {
    pub(crate) product: usize,
    pub(crate) rate: f64,
    pub(crate) actions: Vec<(DateTime<Utc>, Action)>,
}

/// How long a crew takes over its dampers when a product comes or a rate changes.
pub(crate) const SETTING_S: f64 = 90.0;

impl Plan {
    /// Draws up the plan of a line. Errors name a product or zone that the bakery does not have.
    pub(crate) fn new(
        bakery: &Bakery,
        line: &Line,
        schedule: &Schedule,
        rota: &Rota,
        rng: &mut impl Rng,
    ) -> Result<Self> {
        let mut happenings: Vec<&Happening> =
            schedule.happenings.iter().filter(|happening| happening.line == line.id).collect();
        happenings.sort_by_key(|happening| happening.at);
        let first = line.products.first().context("a line needs a product")?;
        let mut draft = Draft {
            bakery,
            line,
            rota,
            rng,
            plan: Plan { product: product_index(bakery, first)?, rate: 1.0, actions: vec![] },
            faults: 0,
        };
        for happening in happenings {
            draft.add(happening).with_context(|| format!("{} at {}", line.id, happening.at))?;
        }
        draft.plan.actions.sort_by_key(|(at, _)| *at);
        Ok(draft.plan)
    }
}

struct Draft<'a, R> {
    bakery: &'a Bakery,
    line: &'a Line,
    rota: &'a Rota,
    rng: &'a mut R,
    plan: Plan,
    faults: usize,
}

impl<R: Rng> Draft<'_, R> {
    fn at(&mut self, at: DateTime<Utc>, action: Action) {
        self.plan.actions.push((at, action));
    }

    fn hold(&mut self, held: Held, from: DateTime<Utc>, to: DateTime<Utc>) {
        self.at(from, Action::Hold(held));
        self.at(to.max(from), Action::Release(held));
    }

    fn bake(&mut self, at: DateTime<Utc>, run: &Run) -> Result<()> {
        let product = product_index(self.bakery, &run.product)?;
        self.at(at, Action::Bake { product, rate: run.rate });
        Ok(())
    }

    /// When the last dough that entered by now has left zone 1 for certain.
    fn zone_1_empty(&self, from: DateTime<Utc>) -> DateTime<Utc> {
        let longest = self.bakery.products.iter().map(|product| product.bake_time_min).fold(0.0, f64::max);
        from + seconds(longest * 60.0 / self.line.zones.len() as f64 + 60.0)
    }

    fn add(&mut self, happening: &Happening) -> Result<()> {
        let from = happening.at;
        match &happening.what {
            What::Run(run) => {
                self.plan.product = product_index(self.bakery, &run.product)?;
                self.plan.rate = run.rate;
            }
            What::Changeover { to, empty_for } => {
                let until = from + *empty_for;
                self.hold(Held::Feed, from, until);
                let steam_on = until - TimeDelta::seconds(20);
                self.hold(Held::Steam, self.zone_1_empty(from).min(steam_on), steam_on);
                self.bake(until - TimeDelta::seconds(90), to)?;
            }
            What::RateChange(change) => self.change_rate(from, change)?,
            What::Gap { lasts } => self.hold(Held::Feed, from, from + *lasts),
            What::Stop { lasts } => {
                for held in [Held::Feed, Held::Band, Held::Steam] {
                    self.hold(held, from, from + *lasts);
                }
            }
            What::Rest { cold_for, heating_for, then } => {
                let lit = from + *cold_for;
                let until = lit + *heating_for;
                let empty = from + TimeDelta::minutes(35);
                self.hold(Held::Feed, from, until);
                self.hold(Held::Steam, self.zone_1_empty(from), until - TimeDelta::seconds(20));
                self.hold(Held::Band, empty, until - TimeDelta::minutes(10));
                self.hold(Held::Burners, empty.min(lit), lit);
                self.bake(until - TimeDelta::minutes(10), then)?;
            }
            What::Fault { tag, fault, lasts } => {
                self.faults += 1;
                let id = self.faults;
                self.at(from, Action::BeginFault { id, tag: *tag, fault: *fault });
                self.at(from + *lasts, Action::EndFault { id });
            }
            What::Disturbance { shift, over, lasts } => {
                let (there, back) = self.shift(*shift, as_seconds(*over))?;
                self.at(from, there);
                self.at(from + *lasts, back);
            }
        }
        Ok(())
    }

    fn change_rate(&mut self, from: DateTime<Utc>, change: &RateChange) -> Result<()> {
        ensure!(change.by_pct > -90.0, "a rate change of {} % stops the band", change.by_pct);
        let by = 1.0 + change.by_pct / 100.0;
        let over_s = as_seconds(change.over);
        let back = from + change.lasts;
        let back_s = as_seconds(RETURN_OVER);
        let vented = match change.response {
            Response::Dampers => Some((by, self.reaction(from), Means::Dampers)),
            Response::Steam => Some((by, self.reaction(from), Means::Steam)),
            Response::HalfVenting => Some((by.sqrt(), self.reaction(from), Means::Dampers)),
            Response::LateVenting { after } => Some((by, after, Means::Dampers)),
            Response::NoVenting | Response::SteamStarved { .. } | Response::LyingSpeedTag => None,
        };
        match change.response {
            Response::LyingSpeedTag => {
                self.at(from, Action::ScaleSpeedTag { by, over_s });
                self.at(back, Action::ScaleSpeedTag { by: 1.0 / by, over_s: back_s });
            }
            _ => {
                self.at(from, Action::ScaleBand { by, over_s });
                self.at(back, Action::ScaleBand { by: 1.0 / by, over_s: back_s });
            }
        }
        if let Response::SteamStarved { by_pct } = change.response {
            let left = 1.0 - by_pct / 100.0;
            ensure!(left > 0.0, "steam can't fall by {by_pct} %");
            self.at(from, Action::ScaleSteam { by: left, over_s: over_s.max(180.0) });
            self.at(back, Action::ScaleSteam { by: 1.0 / left, over_s: 180.0 });
        }
        if let Some((by, after, means)) = vented
            && after < change.lasts
        {
            let over_s = over_s.max(SETTING_S);
            self.at(from + after, Action::ScaleVenting { by, over_s, means });
            let after = self.reaction(back);
            let undo = Action::ScaleVenting { by: 1.0 / by, over_s: SETTING_S, means: Means::Dampers };
            self.at(back + after, undo);
        }
        Ok(())
    }

    fn reaction(&mut self, at: DateTime<Utc>) -> TimeDelta {
        let crew = &self.line.crews[self.rota.crew_at(at)];
        seconds(self.rng.gen_range(crew.reaction_s.clone()))
    }

    /// The shift, and what puts it right again.
    fn shift(&self, shift: Shift, over_s: f64) -> Result<(Action, Action)> {
        let index = |zone: usize| {
            ensure!((1..=self.line.zones.len()).contains(&zone), "there is no zone {zone}");
            Ok(zone - 1)
        };
        let back_s = 120.0;
        Ok(match shift {
            Shift::Damper { zone, by_pct } => {
                let (zone, by) = (index(zone)?, by_pct / 100.0);
                (Action::ShiftDamper { zone, by, over_s }, Action::ShiftDamper { zone, by: -by, over_s: back_s })
            }
            Shift::Steam { by_pct } => {
                let by = 1.0 + by_pct / 100.0;
                ensure!(by > 0.0, "steam can't fall by {} %", -by_pct);
                (Action::ScaleSteam { by, over_s }, Action::ScaleSteam { by: 1.0 / by, over_s: back_s })
            }
            Shift::Temperature { zone, by_c } => {
                let zone = index(zone)?;
                (
                    Action::ShiftTemperature { zone, by_c, over_s },
                    Action::ShiftTemperature { zone, by_c: -by_c, over_s: back_s },
                )
            }
            Shift::MakeUpHumidity { by } => {
                (Action::ShiftMakeUp { by, over_s }, Action::ShiftMakeUp { by: -by, over_s })
            }
        })
    }
}

fn product_index(bakery: &Bakery, code: &str) -> Result<usize> {
    bakery.product_index(code).with_context(|| format!("the bakery has no product {code}"))
}

fn seconds(seconds: f64) -> TimeDelta {
    TimeDelta::milliseconds((seconds * 1000.0) as i64)
}

fn as_seconds(delta: TimeDelta) -> f64 {
    delta.num_milliseconds() as f64 / 1000.0
}
