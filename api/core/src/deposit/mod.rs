//! Deposits: an invoice of their own, which is paid like any other, and which the final invoice deducts by lines.
//!
//! The agreed deposit of a quote is asked for by hand, or as soon as the quote is signed or its work is booked, as the
//! shop's terms of money say. The deposit invoice is issued and mailed at once, with account, payment reference and due
//! date. Its tax is chargeable when it is paid. If the work becomes less, what exceeds it is credited; if the job is
//! called off, the deposit is given back, kept as a price with its tax, or kept as compensation without tax.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/deposits` | desk | asks for the deposit of a signed quote |
//! | `POST /v1/deposits/{id}/reduce` | desk | credits what exceeds the agreed work |
//! | `POST /v1/deposits/{id}/call-off` | desk | settles the deposit of a job that was called off |
//! | `GET /v1/deposits/noted` | accounts | deposits that were noted on bookings without an invoice |

mod store;
pub mod usecase;
