//! The JSON API of Baywright: it turns requests into calls of use cases, and their results into answers.
//!
//! In reading order: [`platform`] is the base of every route; each feature has a module with its handlers and the types
//! of request and response bodies; [`routes`] lists the routes of all. The description of each feature, with a table of
//! its routes, is with its use cases in `baywright_core`.

pub mod access;
pub mod amendment;
pub mod booking;
pub mod credit_note;
pub mod customer;
pub mod deposit;
pub mod enquiry;
pub mod exchange;
pub mod feed;
pub mod inspection;
pub mod invoice;
pub mod job;
pub mod learning;
pub mod media;
pub mod menu;
pub mod merge;
pub mod message;
pub mod payment;
pub mod people;
pub mod plan;
pub mod platform;
pub mod privacy;
pub mod quote;
pub mod register;
pub mod reminder;
pub mod rescheduling;
pub mod routes;
pub mod search;
pub mod shop;
pub mod signoff;
pub mod system;
pub mod today;
pub mod variation;
pub mod vehicle;
pub mod visit;
pub mod what_if;
