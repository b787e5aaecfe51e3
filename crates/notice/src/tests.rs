#![allow(clippy::unwrap_used)]

mod fixture;
mod letters;
mod rules;
mod webhook;
