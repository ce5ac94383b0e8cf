//! Baywright below HTTP: its database, the records in it, and the use cases that read and change them.
//!
//! In reading order: [`platform`] is the base of every feature; each feature has a folder with the same few files
//! (`usecase`, `store`, and if needed `details`, `kept`, `jobs`); [`features`] lists the jobs of all, and [`clockwork`]
//! runs them; [`mail`] sends what use cases write. The rules themselves are in the crate `baywright_domain`. Nothing
//! here knows of a request: routes are in `baywright_http`, pages in `baywright_pages`.

pub mod access;
pub mod agreement;
pub mod amendment;
pub mod answer;
pub mod booking;
pub mod clockwork;
pub mod credit_note;
pub mod customer;
pub mod deposit;
pub mod diary;
pub mod documents;
pub mod enquiry;
pub mod exchange;
pub mod features;
pub mod feed;
pub mod inspection;
pub mod invoice;
pub mod job;
pub mod learning;
pub mod mail;
pub mod media;
pub mod menu;
pub mod merge;
pub mod message;
pub mod new_car;
pub mod payment;
pub mod people;
pub mod plan;
pub mod platform;
pub mod privacy;
pub mod problems;
pub mod quote;
pub mod register;
pub mod reminder;
pub mod rescheduling;
pub mod schema;
pub mod seal;
pub mod search;
pub mod setup;
pub mod shop;
pub mod signoff;
pub mod stay;
pub mod today;
pub mod variation;
pub mod vehicle;
pub mod visit;
pub mod what_if;
pub mod words;
