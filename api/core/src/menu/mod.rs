//! The menu: products, steps, services and packages, edited as a draft and published from a moment on.
//!
//! An edition that was published never changes; the one in force is that with the latest `from` that has come, and of
//! equal ones the last published; one that was withdrawn never is. A draft may hold any mistake of the trade while it is being written: validation lists
//! them all, and publishing refuses them. What a quote froze of the menu is its own ([`to_json`], [`from_json`]).
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/menu` | accounts | the menu in force |
//! | `GET /v1/menu/draft` | desk | the draft |
//! | `PUT /v1/menu/draft` | desk | replaces the whole draft, at most 256 KiB |
//! | `PUT /v1/menu/draft/gates` | desk | replaces the gates |
//! | `PUT`, `DELETE /v1/menu/draft/products/{code}` | desk | writes or removes a product |
//! | `PUT`, `DELETE /v1/menu/draft/steps/{code}` | desk | writes or removes a step |
//! | `PUT`, `DELETE /v1/menu/draft/services/{code}` | desk | writes or removes a service |
//! | `PUT`, `DELETE /v1/menu/draft/packages/{code}` | desk | writes or removes a package |
//! | `POST /v1/menu/draft/restore` | desk | makes a published edition the draft |
//! | `GET /v1/menu/draft/validation` | desk | every fault of the draft, and what only looks wrong |
//! | `GET /v1/menu/draft/changes` | desk | what publishing the draft would change |
//! | `GET /v1/menu/first-menu` | desk | the menu to begin from |
//! | `POST /v1/menu/draft/first-menu` | owner | loads it into the draft |
//! | `POST /v1/menu/price-basis/preview` | owner | every price before and after a change between with and without tax |
//! | `POST /v1/menu/price-basis` | owner | converts every price |
//! | `POST /v1/menu/publish` | owner | publishes the draft from a moment on |
//! | `GET /v1/menu/revisions` | accounts | the published editions, newest first |
//! | `GET /v1/menu/revisions/{id}` | accounts | one with its menu |
//! | `POST /v1/menu/revisions/{id}/withdraw` | owner | undoes a publication |
//! | `POST /v1/menu/price` | desk | price, explanation and minutes of a choice, without keeping anything |

pub mod kept;
mod store;
pub mod usecase;

pub use kept::{from_json, to_json};
