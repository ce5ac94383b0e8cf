//! Forms that records take outside the database.

pub mod calendar;
