//! Every route: right, wrong, stale, another shop's, another role's. One module a feature.

#![allow(missing_docs, reason = "tests are named as requirements")]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on may stop")]

mod access;
mod body;
mod booking;
mod clock;
mod customer;
mod database;
mod deposit;
mod duplicate;
mod enquiry;
mod exchange;
mod feed;
mod files;
mod inspection;
mod invoice;
mod job;
mod key;
mod learning;
mod letters;
mod list;
mod look;
mod matrix;
mod media;
mod menu;
mod merge;
mod message;
mod openapi;
mod order;
mod pages;
mod paint;
mod payment;
mod people;
mod phone;
mod plan;
mod privacy;
mod problems;
mod query;
mod quote;
mod register;
mod rehearsal;
mod reminder;
mod rescheduling;
mod search;
mod shop;
mod signoff;
mod slip;
mod statements;
mod today;
mod undo;
mod variation;
mod vehicle;
mod visit;
mod what_if;
