//! The pages of Baywright for people: HTML from the server, for the studio, for its customers and for
//! whoever reads the API.
//!
//! In reading order: [`platform`] is what all pages share; each feature has a module with its pages, and a folder with their
//! templates; [`routes`] lists the pages of all.

pub mod access;
pub mod feed;
pub mod home;
pub mod platform;
pub mod problems;
pub mod routes;
pub mod shop;
pub mod signoff;
pub mod system;
