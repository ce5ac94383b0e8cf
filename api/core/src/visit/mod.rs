//! Visits: one car's stay from the enquiry to the payment, tied together by its quote, with everything that happened and
//! what must happen next.
//!
//! A visit has no rows of its own. Its facts are read from the records of all features in a few statements, however many
//! visits are asked for, and the rule of `baywright_domain::visit` says from them what comes next and whose turn it is.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/visits` | desk | one page of them, newest first |
//! | `GET /v1/visits/{id}` | desk | the visit of a quote, with everything that happened |

mod store;
pub mod usecase;
