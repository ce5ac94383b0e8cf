//! Baywright: the back-office service of a small vehicle-detailing studio, from the first call to the paid invoice.
//!
//! In reading order: [`platform`] is the base of every feature, and [`http`] the base of every route; each feature has
//! a folder with the same few files (`usecase`, `store`, `jobs`, and above them `routes` and `pages`); [`features`]
//! lists their jobs, [`server`] their routes and pages, and composes them; [`cli`] is the command line. The rules
//! themselves are in the crate `baywright_domain`.

pub mod access;
pub mod agreement;
pub mod amendment;
pub mod answer;
pub mod booking;
pub mod cli;
pub mod clockwork;
pub mod customer;
pub mod documents;
pub mod enquiry;
pub mod exchange;
pub mod features;
pub mod feed;
pub mod http;
pub mod inspection;
pub mod invoice;
pub mod job;
pub mod learning;
pub mod mail;
pub mod media;
pub mod menu;
pub mod merge;
pub mod message;
pub mod pages;
pub mod payment;
pub mod people;
pub mod plan;
pub mod platform;
pub mod privacy;
pub mod problems;
pub mod proposal;
pub mod quote;
pub mod reminder;
pub mod schema;
pub mod seal;
pub mod search;
pub mod server;
pub mod setup;
pub mod shop;
pub mod signoff;
pub mod system;
pub mod variation;
pub mod vehicle;
pub mod words;
