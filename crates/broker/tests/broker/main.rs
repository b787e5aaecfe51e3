//! The crate against a real mosquitto, with the settings shipped in `deploy/mosquitto`.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod access;
mod intake;
mod protocol;
mod publisher;
mod stopping;
mod support;
mod tls;
