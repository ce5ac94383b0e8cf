//! Suppositions: what an absence, a closure, more hours, one more bay or person, or a variation would do to the cars that
//! are booked. Nothing is written.
//!
//! The domain defines what moves and what is saved (`domain/src/what_if.rs`). The data is read in one transaction that
//! only reads, and searched after it, for a few seconds at most: a search inside of it would hold a connection meanwhile.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/what-if` | desk | which promises would move, and which cars would be finished sooner |

pub mod usecase;
