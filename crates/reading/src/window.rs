//! Windows.
