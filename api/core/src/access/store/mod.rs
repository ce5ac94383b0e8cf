//! Rows of sign-ins and of everything that leads to them.

pub(in crate::access) mod account;
pub(in crate::access) mod attempt;
pub(in crate::access) mod invite;
pub(in crate::access) mod known;
pub(in crate::access) mod refresh;
pub(in crate::access) mod session;
pub(in crate::access) mod tablet;
