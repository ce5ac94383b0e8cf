//! The harness: the program in this process, on a free port, with a clock that tests move by hand.
//!
//! A test says `on_each_engine(|studio| …)` and runs on SQLite, and on PostgreSQL too where
//! `BAYWRIGHT_TEST_POSTGRES` names a server on which databases may be made (`tests/run` starts one).

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::missing_panics_doc,
    reason = "a harness fails by panicking"
)]

pub mod answer;
pub mod browser;
pub mod contract;
pub mod document;
pub mod einvoice;
pub mod engine;
pub mod mailbox;
pub mod make;
pub mod markup;
pub mod oracle;
pub mod person;
pub mod program;
pub mod studio;
pub mod visitor;

pub use studio::{Studio, on_each_engine, on_each_engine_without_a_shop};
