//! Quotes: what is offered for a vehicle, at what price, frozen when it is sent, signed once.
//!
//! A quote has revisions: draft → sent → signed · declined · lapsed · withdrawn · replaced. Only a draft can be edited;
//! from then on a change is a new revision. The sealed document of a revision ([`kept::QuoteDocument`]) is what the
//! customer reads. The menu is written in the prices that private customers see; if a quote has the other prices, each
//! price is converted by the rate of its line.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/quotes` | accounts | one page of them, newest first, by state, customer or vehicle |
//! | `POST /v1/quotes` | desk | writes one as a draft |
//! | `POST /v1/quote-prices` | desk | prices a draft without keeping anything |
//! | `GET /v1/quotes/{id}` | accounts | one with its latest revision |
//! | `GET /v1/quotes/{id}/revisions/{number}` | accounts | one revision |
//! | `PUT /v1/quotes/{id}/draft` | desk | changes the draft |
//! | `POST /v1/quotes/{id}/revisions` | desk | opens a new draft after one that was sent |
//! | `POST /v1/quotes/{id}/send` | desk | freezes the draft and sends it |
//! | `POST /v1/quotes/{id}/withdraw` | desk | takes back what is with the customer |
//! | `POST /v1/quotes/{id}/send-again` | desk | mails what is with the customer once more |
//! | `POST /v1/quotes/{id}/links` | desk | makes a link, for signing in person or to send by hand |
//! | `POST /v1/quotes/{id}/sign-off` | desk | notes a yes by phone |
//! | `POST /v1/quotes/{id}/decline` | desk | notes a no |

pub mod jobs;
pub mod kept;
pub mod routes;
mod store;
pub mod usecase;
