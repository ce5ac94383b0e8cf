//! Rows of people and of what stands behind their sign-ins.

pub(super) mod absence;
pub(super) mod account;
pub(super) mod session;
pub(super) mod week;
