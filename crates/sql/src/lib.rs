//! A PostgreSQL database: what the service records there, and the history it brings from there.
