//! The stay of a car as its customer sees it: one page from the order to the paid invoice, behind a link of its own.
//!
//! What the page shows is read from the records of the features below. The rule in `baywright_domain::stay` says which
//! moment comes first, and the links are those of [`crate::signoff`]. A customer who chooses a time gets it by the desk's own
//! search and against the same constraints. The only rows of this feature are the questions that customers ask.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/visits/{id}` | desk | the visit of a quote, with the questions of its customer |
//! | `/c/{token}…` | anyone with the link | the customer's page |

mod store;
pub mod usecase;
