//! Rescheduling proposals: all jobs of the next days placed at once by the rules, and the promises that move.
//!
//! A proposal is requested after an overrun, an absence or the closure of a bay, or to find room for another car. Cars
//! in their bays stay; confirmed bookings may move, as few of them as possible. A proposal changes nothing. Accepting
//! one changes the diary in one transaction and writes to each customer whose times move; it is refused if the diary
//! has changed meanwhile.
//!
//! The search runs outside any transaction, on data that was read before, for a few seconds at most.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/proposal-previews` | desk | computes one without storing it |
//! | `POST /v1/proposals` | desk | computes one and stores it |
//! | `GET /v1/proposals` | desk | one page of them |
//! | `GET /v1/proposals/{id}` | desk | one proposal |
//! | `POST /v1/proposals/{id}/accept` | owner | changes the diary to it |

mod because;
pub mod kept;
mod store;
pub mod usecase;
