//! Rows of people.

pub(super) mod absence;
pub(super) mod account;
pub(super) mod week;
