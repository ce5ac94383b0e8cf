//! Data about one person: showing it to them, and erasing it at their wish (Regulation (EU) 2016/679, articles 15, 17
//! and 20).
//!
//! Each feature lists its data and erases it, in `features::holders`. Erasing blanks names, addresses, numbers, notes,
//! photographs, mails and search words, and unsigned offers. Signed, invoiced and paid records stay for the years that
//! tax law requires, as they were sealed. The log says that somebody was erased, but not who. A keyed digest of each
//! email address and telephone number is kept as long: `customer/usecase/erased.rs` says why.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/customers/{id}/personal-data` | desk | all data about a customer |
//! | `POST /v1/customers/{id}/erase` | owner | erases a customer |

pub mod usecase;
