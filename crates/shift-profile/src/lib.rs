//! From readings to the shift profile table
