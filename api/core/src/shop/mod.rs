//! The studio itself: its profile and the settings that every other feature reads.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/shop` | anyone signed in | profile and terms |
//! | `PUT /v1/shop` | desk | replaces them |
//! | `GET /v1/rates` | accounts | labour rate, price step, factors, changeovers, tax basis and computation |
//! | `PUT /v1/rates` | owner | replaces them |
//! | `GET /v1/money-terms` | accounts | prefixes of further documents, and how deposits are handled |
//! | `PUT /v1/money-terms` | owner | replaces them |
//! | `GET /v1/self-booking` | desk | whether customers may choose a free time by themselves |
//! | `PUT /v1/self-booking` | owner | changes that |
//! | `GET /v1/tax-categories`, `GET /v1/tax-categories/{id}` | accounts | taxes with dated rates |
//! | `POST /v1/tax-categories`, `PUT /v1/tax-categories/{id}` | owner | adds one, replaces one |
//! | `GET /v1/opening-hours` | crew | the usual week |
//! | `PUT /v1/opening-hours` | desk | replaces it |
//! | `GET /v1/closures`, `GET /v1/closures/{id}` | crew | days on which the shop or a bay is closed |
//! | `POST /v1/closures`, `PUT` and `DELETE /v1/closures/{id}` | desk | adds one, replaces one, deletes one |
//! | `GET /v1/bays`, `GET /v1/bays/{id}` | crew | bays with their features |
//! | `POST /v1/bays`, `PUT /v1/bays/{id}` | desk | adds one, replaces one |

pub mod settings;
mod store;
pub mod usecase;
