//! The labelled benchmark of detection: invented ovens, what happens in them, what was raised, and
//! how good that was.
//!
//! An [`Oven`](ovens::Oven) bakes a history from which its normals are learned, then clean days, then
//! a script of labelled [events](event::Event), [`family`] by family. [`run`](stream::run) takes
//! all of it through the one detection path; [`score`](score::Score) holds the alarms against the
//! labels, event by event. Anything else that raises alarms on the same windows is scored by the same
//! rule.

pub mod event;
pub mod family;
pub mod interval;
pub mod ovens;
pub mod plant;
pub mod score;
pub mod script;
pub mod seeds;
pub mod stream;
