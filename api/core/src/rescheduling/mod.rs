//! Reschedulings: all jobs of the next days placed at once by the rules, and the promises that move.
//!
//! A rescheduling is requested after an overrun, an absence or the closure of a bay, or to find room for another car.
//! Cars in their bays stay; confirmed bookings may move, as few of them as possible. A rescheduling changes nothing.
//! Accepting one changes the diary in one transaction and writes to each customer whose times move; it is refused if
//! the diary has changed meanwhile.
//!
//! The search runs outside any transaction, on data that was read before, for a few seconds at most.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/rescheduling-previews` | desk | computes one without storing it |
//! | `POST /v1/reschedulings` | desk | computes one and stores it |
//! | `GET /v1/reschedulings` | desk | one page of them |
//! | `GET /v1/reschedulings/{id}` | desk | one rescheduling |
//! | `POST /v1/reschedulings/{id}/accept` | owner | changes the diary to it |

mod because;
pub mod kept;
mod store;
pub mod usecase;
