#![doc = include_str!("../README.md")]
#![no_std]

extern crate alloc;

pub mod calendar;
pub mod document;
pub mod id;
pub mod invoice;
pub mod money;
pub mod payment;
pub mod refusal;
pub mod schedule;
pub mod series;
pub mod tax;
pub mod time;
pub mod word;

pub mod caution;
pub mod inspection;
pub mod menu;
pub mod mixing;
pub mod plan;
pub mod precedence;
pub mod pricing;
pub mod vehicle;
