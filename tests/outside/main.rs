//! The rules against what others have published. Each module names its source, and lists the published rows that are
//! left out with the reason beside each.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a check that cannot go on may stop")]

mod argon2;
mod availability_edges;
mod bank;
mod country;
mod einvoice;
mod en16931;
mod jcs;
mod jwt;
mod legible;
mod mixing;
mod sequencing;
mod stays_edges;
mod tax_rules;
mod totals;
mod vin;
mod zones;
