//! Today: what the desk and the crew need to see in the morning, in one answer.
//!
//! It has bays with their stretches of work, wait, hold and closed time; people with their pieces of work; the jobs
//! that are under way, each with the step at hand and its forecast; and seven short lists of what waits for somebody,
//! each entry with its next act. It is read in a few queries, one per kind of record and never one per row.
//!
//! This module decides what each role sees, so that no view can forget it: technicians get first names, only their own
//! jobs, and no lists, so nothing about money.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/today?date=` | crew | the day at the shop |

mod details;
mod store;
pub mod usecase;
