//! Visits: one car's stay from the enquiry to the payment, tied together by its quote, with everything that happened and
//! what must happen next.
//!
//! A visit has no rows of its own. Its facts are read from the records of all features in a few queries, whatever the
//! number of visits, and the rule in `baywright_domain::visit` derives from them what comes next and whose turn it is.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/visits` | desk | one page of visits, newest first |
//! | `GET /v1/visits/{id}` | desk | the visit of a quote, with everything that happened |

mod store;
pub mod usecase;
