//! A simulated bakery that speaks MQTT like a plant.
//!
//! [`Bakery`] says what stands there, [`Schedule`] what happens, [`Simulation`] lets it run and
//! gives readings; [`Schedule::events`] labels them with the truth. Everything is invented.
//!
//! Inside, a schedule becomes actions (`plan`) at the controls (`controls`) of a running line
//! (`running_line`): its dough dries on the band (`dough`), its zones hold air (`zone_air`), its
//! instruments look at them (`instruments`).

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
mod weather;
mod zone_air;

pub use bakery::{Bakery, Firing, HumidityProbe, Line, Zone};
pub use broker_address::BrokerAddress;
pub use crew::Crew;
pub use delivery::Delivered;
pub use demo::DEMO_HISTORY;
pub use dough::Baked;
pub use draw::Draw;
pub use drying::DryingCurve;
pub use flood::Flood;
pub use label::{Event, EventKind, write_labels};
pub use payload::{CSV_HEADER, PayloadStyle, payload, write_csv_row};
pub use product::Product;
pub use publish::{Clock, PublishOptions, publish};
pub use schedule::{Happening, RateChange, Response, Run, Schedule, Shift, What};
pub use sensor::Fault;
pub use simulation::{PlantReading, PlantValue, Simulation};
pub use tag::Tag;
pub use zone_air::WaterBalance;
