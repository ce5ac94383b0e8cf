//! Baywright: the back-office service of a small vehicle-detailing studio, from the first call to the paid invoice.
//!
//! This crate is the program: [`cli`] is the command line, and [`server`] composes the routes of `baywright_http` and the
//! pages of `baywright_pages`. What they do is in `baywright_core`, the rules themselves in `baywright_domain`.

pub mod cli;
pub mod server;
