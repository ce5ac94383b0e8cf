//! Jobs: a car's work, from the moment it stands in its bay to the hand-over.
//!
//! A job has the steps of its plan. Each is started, stopped, finished or struck out by somebody; the clock of a step is
//! the sum of the pieces of work on it. No step begins before those that it must follow are settled and have dried or
//! cured, or while something cures that holds the whole car, as the menu says. Nobody is at two steps at once, of one car or
//! of two: the database holds that too. A job has no prices, and shows the customer's first name only.
//!
//! Each step has a version of its own, so that two people at one car don't get in each other's way.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/bookings/{id}/arrive` | crew | takes the car in; its job begins |
//! | `GET /v1/jobs` | crew | one page of them, newest first; technicians see their own |
//! | `GET /v1/jobs/{id}` | crew | one, with its steps |
//! | `GET /v1/jobs/{id}/forecast` | crew | when it will be done, as far as it is by now |
//! | `GET /v1/jobs/{id}/steps/{code}` | crew | one step |
//! | `POST /v1/jobs/{id}/steps/{code}/start` | crew | somebody begins, goes on or joins |
//! | `POST /v1/jobs/{id}/steps/{code}/stop` | crew | somebody stops for now |
//! | `POST /v1/jobs/{id}/steps/{code}/finish` | crew | it is done |
//! | `POST /v1/jobs/{id}/steps/{code}/strike` | crew | it won't be done |
//! | `POST /v1/jobs/{id}/steps/{code}/undo` | crew | undoes the last of these |
//! | `PUT /v1/jobs/{id}/steps/{code}/times` | crew | corrects when somebody was at it |
//! | `POST /v1/jobs/{id}/steps/{code}/end-wait` | crew | it is dry or cured early |
//! | `GET /v1/jobs/{id}/notes` | crew | what was noted, with photographs |
//! | `POST /v1/jobs/{id}/notes` | crew | notes something |
//! | `POST /v1/bookings/{id}/ready` | crew | declares the work done |
//! | `POST /v1/bookings/{id}/hand-over` | crew | gives the car back |
//! | `GET /v1/bookings/{id}/hand-over` | crew | what was kept of it |
//! | `POST /v1/bookings/{id}/undo` | crew | undoes the booking's last move |
//!
//! Whatever a finger does here by mistake is undone exactly: every move of a step is kept with the step as it was before.
//! An undone arrival hides the job and keeps its notes, because a note is never lost; both are there again when the car
//! comes.

mod store;
pub mod usecase;
