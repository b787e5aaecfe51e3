//! Tests of the store as a whole.
#![allow(clippy::unwrap_used)]

mod bounds;
mod fixture;
mod keeping;
