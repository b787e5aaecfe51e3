//! From windows and a normal profile to alerts
