//! The demo data, held to the rules and to the practice of the trade.

#![allow(missing_docs, reason = "tests are named as requirements")]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on may stop")]

mod menu;
