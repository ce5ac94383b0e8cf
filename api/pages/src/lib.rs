//! The pages of Baywright for people: HTML from the server, for customers and for whoever reads the API.
//!
//! In reading order: [`platform`] is what all pages share; each feature has a module with its pages, and a folder with their
//! templates; [`routes`] lists the pages of all.

pub mod feed;
pub mod platform;
pub mod problems;
pub mod routes;
pub mod signoff;
pub mod system;
