//! Builders: valid records made over HTTP, one module a feature.

pub mod booking;
pub mod customer;
pub mod enquiry;
pub mod inspection;
pub mod invoice;
pub mod mails;
pub mod media;
pub mod menu;
pub mod new_car;
pub mod people;
pub mod quote;
pub mod shop;
pub mod vehicle;
