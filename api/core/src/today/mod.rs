//! Today: what the desk and the crew look at in the morning, in one answer.
//!
//! Bays with their stretches of work, wait, hold and closed time; people with their pieces of work; the jobs that are
//! under way, each with the step at hand and its forecast; and seven short lists of what waits for somebody, each entry
//! with its next act. It is read in a few statements, one per kind of record and never one per row.
//!
//! What each role sees is decided here, so that no view can forget it: technicians get first names, their own jobs, and
//! no lists, so nothing about money.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/today?date=` | crew | the day at the shop |

mod details;
mod store;
pub mod usecase;
