//! Keeps readings, alerts and the outbox: SQLite for what is hot, Parquet for what is sealed
