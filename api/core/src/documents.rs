//! File formats of records outside the database.

pub mod calendar;
