//! The menu: products, steps, services and packages, edited as a draft and published with a start time.
//!
//! A published revision never changes; the one in force is that with the latest `from` in the past, and of equal ones
//! the last published; a withdrawn one is never in force. A draft may contain any mistake while it is edited:
//! validation lists them all, and publishing refuses them. The part of the menu that a quote freezes is its own
//! ([`to_json`], [`from_json`]).
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/menu` | accounts | the menu in force |
//! | `GET /v1/menu/draft` | desk | the draft |
//! | `PUT /v1/menu/draft` | desk | replaces the whole draft, at most 256 KiB |
//! | `PUT /v1/menu/draft/checkpoints` | desk | replaces the checkpoints |
//! | `PUT`, `DELETE /v1/menu/draft/products/{code}` | desk | writes or removes a product |
//! | `PUT`, `DELETE /v1/menu/draft/steps/{code}` | desk | writes or removes a step |
//! | `PUT`, `DELETE /v1/menu/draft/services/{code}` | desk | writes or removes a service |
//! | `PUT`, `DELETE /v1/menu/draft/packages/{code}` | desk | writes or removes a package |
//! | `POST /v1/menu/draft/restore` | desk | makes a published revision the draft |
//! | `GET /v1/menu/draft/validation` | desk | every fault of the draft, and warnings |
//! | `GET /v1/menu/draft/changes` | desk | what publishing the draft would change |
//! | `GET /v1/menu/first-menu` | desk | the starter menu |
//! | `POST /v1/menu/draft/first-menu` | owner | loads it into the draft |
//! | `POST /v1/menu/price-basis/preview` | owner | every price before and after a change of the tax basis |
//! | `POST /v1/menu/price-basis` | owner | converts every price |
//! | `POST /v1/menu/publish` | owner | publishes the draft with a start time |
//! | `GET /v1/menu/revisions` | accounts | the published revisions, newest first |
//! | `GET /v1/menu/revisions/{id}` | accounts | one with its menu |
//! | `POST /v1/menu/revisions/{id}/withdraw` | owner | undoes a publication |
//! | `POST /v1/menu/price` | desk | price, explanation and minutes of a choice; stores nothing |

pub mod kept;
mod store;
pub mod usecase;

pub use kept::{from_json, to_json};
