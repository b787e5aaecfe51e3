//! Running state.
