//! Sign-offs: the customer's yes to a quote or a variation, sealed, and the links by which they give it.
//!
//! What was shown is a document in canonical JSON (RFC 8785) with its digest; the evidence of the yes is a second one,
//! which names the first by its digest. Neither ever changes: triggers on both engines see to that, and
//! [`crate::seal`] recomputes every digest.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/links` | desk | links that customers were given |
//! | `POST /v1/links/{id}/revoke` | desk | takes one back |
//! | `/q/{token}…` | whoever has the link | the customer's pages |

pub mod kept;
mod store;
pub mod usecase;
