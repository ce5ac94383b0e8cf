//! Jobs: the work on a car, from its arrival in the bay to the hand-over.
//!
//! A job has the steps of its plan. Each is started, stopped, finished or removed by somebody; the clock of a step
//! is the sum of the pieces of work on it. A step begins only when the steps before it are finished or removed and
//! have dried or cured, and not while something cures that holds the whole car, as the menu says. Nobody works on two
//! steps at once, of one car or of two: constraints of the database say the same. A job has no prices, and shows the
//! customer's first name only.
//!
//! Each step has a version of its own, so that two people at one car don't block each other.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/bookings/{id}/arrive` | crew | records the arrival of the car; its job begins |
//! | `GET /v1/jobs` | crew | one page of them, newest first; technicians see their own |
//! | `GET /v1/jobs/{id}` | crew | one, with its steps |
//! | `GET /v1/jobs/{id}/forecast` | crew | the time when it will be done, by the progress of its steps |
//! | `GET /v1/jobs/{id}/steps/{code}` | crew | one step |
//! | `POST /v1/jobs/{id}/steps/{code}/start` | crew | somebody begins, continues or joins |
//! | `POST /v1/jobs/{id}/steps/{code}/stop` | crew | somebody stops for now |
//! | `POST /v1/jobs/{id}/steps/{code}/finish` | crew | it is done |
//! | `POST /v1/jobs/{id}/steps/{code}/remove` | crew | it will not be done |
//! | `POST /v1/jobs/{id}/steps/{code}/undo` | crew | undoes the last of these |
//! | `PUT /v1/jobs/{id}/steps/{code}/times` | crew | corrects the times of work on it |
//! | `POST /v1/jobs/{id}/steps/{code}/end-wait` | crew | ends its drying or curing early |
//! | `POST /v1/jobs/{id}/actions` | crew | makes a list of starts, stops and finishes in order, each answered for itself |
//! | `GET /v1/jobs/{id}/notes` | crew | its notes, with photographs |
//! | `POST /v1/jobs/{id}/notes` | crew | adds a note |
//! | `POST /v1/bookings/{id}/ready` | crew | declares the work done |
//! | `POST /v1/bookings/{id}/hand-over` | crew | records the hand-over |
//! | `GET /v1/bookings/{id}/hand-over` | crew | the record of the hand-over |
//! | `POST /v1/bookings/{id}/undo` | crew | undoes the booking's last move |
//!
//! Work that was noted without a network is told later with its times: a start, a stop and a finish take the time when they
//! were made, which `domain/src/job/moment.rs` holds to what is possible, and each move of a list has a key, so that it counts
//! once however often the list is sent.
//!
//! A tap by mistake can be undone exactly: every move of a step is stored with the step as it was before. An undone
//! arrival hides the job and keeps its notes, because a note is never lost; both are visible again when the car comes.

mod store;
pub mod usecase;
