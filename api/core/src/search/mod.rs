//! Search while typing: one list of everything that can be found, whatever feature it belongs to.
//!
//! A feature indexes its records' words with [`usecase::index`] whenever they change, and removes them with
//! [`usecase::forget`]. The words and how they match are in `baywright_domain::search`.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/search?q=` | desk | results, newest first, at most 50, and the visits that they lead to |

mod store;
pub mod usecase;
