//! HTTP: the status page, the API, health and metrics
