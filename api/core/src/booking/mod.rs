//! Bookings: a car's place in a bay, or in several one after another, and who works on it when.
//!
//! held → booked → in the bay → ready → handed over; or cancelled · a no-show. A hold ends by itself: from then on
//! every answer counts it as cancelled, and a scheduled job stores that. One signed quote has one place at a time.
//!
//! A place is found by the rules' own search and checked again in the transaction that takes it. Constraints in the
//! database of both engines are the last guard: no two current stays in one bay overlap, nor two of one car, nor any two
//! pieces of one person's work; and at most one car is in a bay.
//!
//! If no bay has everything that the work needs, the car is moved: each stay begins with a step, which takes the minutes
//! of the move longer. The steps may follow any order of the plan's front. At the tablet, the start of a step in another
//! bay moves the car there, unless another car is in that bay or somebody still works on this one.
//!
//! With two people, the steps that allow it are shorter and need two people who are both present and free: one has the
//! step's skills and leads, the other helps. Both have a row of their own, so that the constraints hold for both.
//!
//! If the quote asks for a deposit, the booking is confirmed at once and shows that the deposit is due until it is
//! recorded as received, so that a customer does not lose an agreed place because a transfer takes a day. A shop that
//! wants the money first holds the place and books it once the money has come.
//!
//! The customer is told by mail when a booking is made, moved or cancelled, with a file for their calendar, in the
//! transaction of the change. Every move takes an idempotency key, so that a tap on a bad connection counts once.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/quotes/{id}/availability` | desk | times at which the signed work can be done |
//! | `POST /v1/menu/first-times` | desk | first times for services and packages, without a quote |
//! | `GET /v1/quotes/{id}/first-times` | desk | first times for each choice of a quote's options |
//! | `POST /v1/bookings` | desk | holds or books a place |
//! | `GET /v1/bookings` | desk | one page of them, by start |
//! | `GET /v1/bookings/{id}` | desk | one booking |
//! | `POST /v1/bookings/{id}/book` | desk | confirms a held place |
//! | `POST /v1/bookings/{id}/hold-longer` | desk | holds a held place for longer |
//! | `POST /v1/bookings/{id}/move` | desk | moves it; also while the car is waiting for its bay |
//! | `POST /v1/bookings/{id}/cancel` | desk | cancels it |
//! | `POST /v1/bookings/{id}/no-show` | desk | records a no-show |
//! | `POST /v1/bookings/{id}/deposit` | desk | records that the deposit was received |
//! | `GET /v1/days/{date}` | crew | cars in each bay on one day |

pub mod jobs;
mod store;
pub mod usecase;
