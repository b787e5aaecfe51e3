//! The table as a whole: from readings to rows, and from rows to what is written.

mod bakery;
mod content;
mod forms;
mod naive;
