//! Enquiries: the first call. Who asks, for which vehicle, what they want and by when, and whether they may be reached.
//!
//! Open → quoted → closed; or open → closed. A caller need not be a customer yet: what they said of themselves is kept
//! with the enquiry until the desk adds them as one.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/enquiries` | desk | one page of them, newest first; by state and customer |
//! | `POST /v1/enquiries` | desk | takes one down |
//! | `GET /v1/enquiries/{id}` | desk | one |
//! | `PUT /v1/enquiries/{id}` | desk | replaces what was taken down |
//! | `POST /v1/enquiries/{id}/add-customer` | desk | makes the caller a customer |
//! | `POST /v1/enquiries/{id}/quoted` | desk | notes the quote that was made from it |
//! | `POST /v1/enquiries/{id}/close` | desk | closes it with a reason |

mod details;
pub mod jobs;
mod store;
pub mod usecase;
