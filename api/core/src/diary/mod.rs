//! The diary as people look at it: a week of bays with their cars, offered times with the names in them, one booking with
//! what can be done with it, and a rescheduling beside the diary as it is.
//!
//! It stores nothing. Bookings, absences, closures and reschedulings have their own features; here their records are
//! read together with the names that they refer to, in a few queries each.
//!
//! This module decides what each role sees, so that no page can forget it: technicians get first names, and neither
//! deposits nor texts that somebody at the desk has written.

pub mod usecase;
