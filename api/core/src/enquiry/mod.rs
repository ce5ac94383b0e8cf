//! Enquiries: the first contact. Caller, vehicle, wish and date, and whether the caller may be contacted.
//!
//! Open → quoted → closed; or open → closed. A caller need not be a customer yet: their contact details are stored with
//! the enquiry until the desk adds them as a customer.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/enquiries` | desk | one page of them, newest first; by state and customer |
//! | `POST /v1/enquiries` | desk | records one |
//! | `GET /v1/enquiries/{id}` | desk | one enquiry |
//! | `PUT /v1/enquiries/{id}` | desk | replaces its details |
//! | `POST /v1/enquiries/{id}/add-customer` | desk | makes the caller a customer |
//! | `POST /v1/enquiries/{id}/quoted` | desk | links the quote that was made from it |
//! | `POST /v1/enquiries/{id}/close` | desk | closes it with a reason |

mod details;
pub mod jobs;
mod store;
pub mod usecase;
