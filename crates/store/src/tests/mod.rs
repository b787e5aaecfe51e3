//! Tests of the store as a whole.
#![allow(clippy::unwrap_used)]

mod alerts;
mod audit;
mod backup;
mod bounds;
mod crash;
mod fixture;
mod keeping;
mod model;
mod notices;
mod older;
mod outside;
mod rates;
mod sealing;
mod together;
