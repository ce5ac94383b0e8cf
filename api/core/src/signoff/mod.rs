//! Sign-offs: the customer's acceptance of a quote or a variation, sealed, and the links through which they give it.
//!
//! The document that was shown is canonical JSON (RFC 8785) with its digest; the evidence of the acceptance is a second
//! one, which names the first by its digest. Neither ever changes: triggers on both engines ensure that, and
//! [`crate::seal`] recomputes every digest.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/links` | desk | links that customers were given |
//! | `POST /v1/links/{id}/revoke` | desk | revokes one |
//! | `/q/{token}…` | anyone with the link | the customer's pages to read and sign |
//! | `/c/{token}…` | anyone with the link | the customer's page for the rest of the stay, in [`crate::stay`] |

pub mod kept;
mod store;
pub mod usecase;
