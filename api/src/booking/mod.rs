//! Bookings: a car's place in a bay, and who works on it when.
//!
//! held → booked → in the bay → ready → handed over; or cancelled · missed. A hold lapses by itself: from its moment on
//! every answer counts it as cancelled, and the clockwork writes it down. One signed quote has one place at a time.
//!
//! A place is found by the rules' own search and checked again in the transaction that takes it. Behind that stand
//! walls in the database on both engines: no two live placements of one bay overlap, nor two of one car, nor any two pieces
//! of one person's work; and at most one car stands in a bay.
//!
//! With two people the steps that allow it are shorter and keep two people, who are both in and free: one has the
//! step's skills and leads, the other helps. Both have a row of their own, so that the walls keep both.
//!
//! If the quote asks for a deposit, the booking is agreed at once and shows that the deposit is due until it is noted
//! as received: a place that the customer agreed to is not lost because a transfer takes a day. A shop that wants the
//! money first holds the place and books it when the money has come.
//!
//! The customer is told by mail of what is agreed, moved and called off, with a file for their calendar, in the
//! transaction of the change. Every move takes an idempotency key, so that a tap on a bad line counts once.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/quotes/{id}/availability` | desk | when the signed work can be done |
//! | `POST /v1/bookings` | desk | holds or books a place |
//! | `GET /v1/bookings` | desk | one page of them, by start |
//! | `GET /v1/bookings/{id}` | desk | one |
//! | `POST /v1/bookings/{id}/book` | desk | agrees a held place |
//! | `POST /v1/bookings/{id}/move` | desk | to another place or time; also while the car waits beside its bay |
//! | `POST /v1/bookings/{id}/cancel` | desk | calls it off |
//! | `POST /v1/bookings/{id}/missed` | desk | notes that the car didn't come |
//! | `POST /v1/bookings/{id}/deposit` | desk | notes that the deposit has come |
//! | `GET /v1/days/{date}` | crew | what stands in each bay on one day |

pub mod jobs;
pub mod routes;
mod store;
pub mod usecase;
