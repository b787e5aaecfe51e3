//! A simulated bakery that speaks MQTT like a plant.
//!
//! [`Bakery`] says what stands there, [`Schedule`] what happens, [`Simulation`] lets it run and
//! gives readings; [`Schedule::events`] labels them with the truth. Everything is invented.
//!
//! ```
//! use std::time::Duration;
//!
//! use bakehouse::{Bakery, RateChange, Response, Schedule, Simulation, What};
//! use chrono::TimeDelta;
//!
//! # fn main() -> anyhow::Result<()> {
//! let start = "2026-11-02T07:00:00Z".parse()?;
//! let rise = RateChange::sudden(12.0, TimeDelta::minutes(60), Response::NoVenting);
//! let schedule = Schedule::quiet().with("tunnel-1", start + TimeDelta::minutes(90), What::RateChange(rise));
//! let mut plant = Simulation::new(Bakery::millbrook_single(), &schedule, 1, start, Duration::from_secs(10))?;
//! let readings = plant.until(start + TimeDelta::minutes(5)).count();
//! assert_eq!(readings, 30 * 16 + 5, "sixteen numbers every ten seconds, the product every minute");
//! assert_eq!(schedule.events().len(), 2, "the rise and its return");
//! # Ok(())
//! # }
//! ```
//!
//! Inside, a schedule becomes actions (`plan`) at the controls (`controls`) of a running line
//! (`running_line`): its dough dries on the band (`dough`), its zones hold air (`zone_air`), its
//! instruments look at them (`instruments`), and a logger may travel through (`logger`).

mod bakery;
mod broker_address;
mod controls;
mod crew;
mod delivery;
mod demo;
mod dough;
mod draw;
mod drying;
mod exhaust;
mod flood;
mod instruments;
mod label;
mod logger;
mod motion;
mod oven;
mod payload;
mod plan;
mod product;
mod publish;
mod rota;
mod running_line;
mod schedule;
mod sensor;
mod simulation;
mod tag;
mod truth;
mod weather;
mod zone_air;

pub use bakery::{Bakery, Firing, HumidityProbe, Line, Zone};
pub use broker_address::BrokerAddress;
pub use crew::Crew;
pub use delivery::Delivered;
pub use demo::DEMO_HISTORY;
pub use dough::Baked;
pub use draw::{Draw, Opening};
pub use drying::DryingCurve;
pub use flood::Flood;
pub use label::{Event, EventKind, write_labels};
pub use logger::{INJECTORS_M, LoggerSample, travel};
pub use payload::{CSV_HEADER, PayloadStyle, payload, write_csv_row};
pub use product::Product;
pub use publish::{Clock, PublishOptions, publish};
pub use schedule::{Happening, RateChange, Response, Run, Schedule, Shift, What};
pub use sensor::Fault;
pub use simulation::{PlantReading, PlantValue, Simulation};
pub use tag::Tag;
pub use truth::OvenTruth;
pub use zone_air::WaterBalance;
