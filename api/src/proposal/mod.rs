//! Proposals: all jobs of the next days placed at once, as the rules would have it, and what would move.
//!
//! Asked for after an overrun, an absence or a bay out of use, or to find room for another car. Cars in their bays
//! stay; agreed bookings may move, as few of them as can be. A proposal changes nothing. Accepting one changes the
//! diary in one transaction and writes to each customer whose times move; if the diary has changed meanwhile it is
//! refused.
//!
//! The search runs outside any transaction, on what was read before, for a few seconds at most.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/proposal-previews` | desk | what if: thinks one out and keeps nothing |
//! | `POST /v1/proposals` | desk | thinks one out and keeps it |
//! | `GET /v1/proposals` | desk | one page of them |
//! | `GET /v1/proposals/{id}` | desk | one |
//! | `POST /v1/proposals/{id}/accept` | owner | changes the diary to it |

mod because;
pub mod kept;
pub mod routes;
mod store;
pub mod usecase;
