//! Searching as one types: one list of all that can be found, whatever feature it is of.
//!
//! A feature tells its records' words with [`usecase::index`] whenever they change, and takes them back with
//! [`usecase::forget`]. The words and how they match are in `baywright_domain::search`.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/search?q=` | desk | what is found, newest first, at most 50, and the visits that it leads to |

mod store;
pub mod usecase;
