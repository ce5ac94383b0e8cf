//! Quotes: an offer for a vehicle with its price, frozen when it is sent, signed once.
//!
//! A quote has revisions: draft → sent → signed · declined · lapsed · withdrawn · replaced. Only a draft can be edited;
//! after that a change is a new revision. The sealed document of a revision ([`kept::QuoteDocument`]) is what the
//! customer reads. The menu has the tax basis of private customers' prices; if a quote has the other one, each price is
//! converted by the rate of its line.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/quotes` | accounts | one page of them, newest first, by state, customer or vehicle |
//! | `POST /v1/quotes` | desk | writes one as a draft |
//! | `POST /v1/quote-prices` | desk | prices a draft without storing it |
//! | `GET /v1/quotes/{id}` | accounts | one with its latest revision |
//! | `GET /v1/quotes/{id}/revisions/{number}` | accounts | one revision |
//! | `PUT /v1/quotes/{id}/draft` | desk | changes the draft |
//! | `POST /v1/quotes/{id}/revisions` | desk | opens a new draft after one that was sent |
//! | `POST /v1/quotes/{id}/send` | desk | freezes the draft and sends it |
//! | `POST /v1/quotes/{id}/withdraw` | desk | withdraws the sent revision |
//! | `POST /v1/quotes/{id}/send-again` | desk | mails the sent revision again |
//! | `POST /v1/quotes/{id}/links` | desk | creates a link, for signing in person or to send in another way |
//! | `POST /v1/quotes/{id}/sign-off` | desk | records an acceptance by phone |
//! | `POST /v1/quotes/{id}/decline` | desk | records that the customer declined |

pub mod jobs;
pub mod kept;
mod store;
pub mod usecase;
