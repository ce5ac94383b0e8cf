#![doc = include_str!("../README.md")]
#![no_std]

extern crate alloc;

pub mod calendar;
pub mod country;
pub mod document;
pub mod id;
pub mod invoice;
pub mod ledger;
pub mod legible;
pub mod money;
pub mod payment;
pub mod refusal;
pub mod schedule;
pub mod series;
pub mod tax;
pub mod time;
pub mod vat_id;
pub mod word;

mod life;

pub mod booking;
pub mod caution;
pub mod customer;
pub mod digits;
pub mod enquiry;
pub mod inspection;
pub mod job;
pub mod learning;
pub mod menu;
pub mod merge;
pub mod message;
pub mod mixing;
pub mod overdue;
pub mod people;
pub mod plan;
pub mod precedence;
pub mod pricing;
pub mod quote;
pub mod reminder;
pub mod rescheduling;
pub mod search;
pub mod sheet;
pub mod signoff;
pub mod stay;
pub mod undo;
pub mod variation;
pub mod vehicle;
pub mod visit;
pub mod what_if;
