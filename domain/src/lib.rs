#![doc = include_str!("../README.md")]
#![no_std]

extern crate alloc;

pub mod calendar;
pub mod document;
pub mod id;
pub mod money;
pub mod refusal;
pub mod schedule;
pub mod tax;
pub mod time;
