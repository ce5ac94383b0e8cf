//! Baywright: the back-office service of a small vehicle-detailing studio, from the first call to the paid invoice.
//!
//! This crate is the program: [`cli`] is what a person types, and [`server`] puts the routes of `baywright_http` and the
//! pages of `baywright_pages` together. What they do is in `baywright_core`, the rules themselves in `baywright_domain`.

pub mod cli;
pub mod server;
