//! Amendments: what was put right afterwards, by whom, when and why.
//!
//! One is kept whenever a move of a booking or of a step is undone, when the times of a piece of work are corrected, and
//! when a wait is ended early. The log names them too; the reason stands here alone, because it may say something of the
//! customer and goes when they are erased.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/bookings/{id}/amendments` | desk | what was put right at a booking and its work |

mod store;
pub mod usecase;
