//! Every route: right, wrong, stale, another shop's, another role's. One module a feature.

#![allow(missing_docs, reason = "tests are named as requirements")]

mod customer;
mod message;
