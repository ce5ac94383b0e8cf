//! Amendments: later corrections, with who made them, when and why.
//!
//! One is stored whenever a move of a booking or of a step is undone, when the times of a piece of work are corrected,
//! and when a wait is ended early. The log names them too; the reason is stored only here, because it may mention the
//! customer and is deleted when they are erased.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/bookings/{id}/amendments` | desk | corrections to a booking and its work |

mod store;
pub mod usecase;
