//! The pages of Baywright: HTML from the server for the studio, for its customers, and for people who read the API
//! documentation.
//!
//! In reading order: [`platform`] is the base of all pages; each feature has a module with its pages, and a folder with
//! their templates; [`routes`] lists the pages of all.

pub mod access;
pub mod diary;
pub mod feed;
pub mod home;
pub mod job;
pub mod menu;
pub mod message;
pub mod new_car;
pub mod people;
pub mod platform;
pub mod problems;
pub mod routes;
pub mod search;
pub mod setup;
pub mod shop;
pub mod signoff;
pub mod stay;
pub mod system;
pub mod today;
pub mod visit;
