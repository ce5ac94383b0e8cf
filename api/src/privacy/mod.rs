//! What is held on one person, told to them and erased at their wish (Regulation (EU) 2016/679, articles 15, 17 and 20).
//!
//! Each feature says what it holds and how it lets go of it, in `features::holders`. Erasing blanks names, addresses,
//! numbers, notes, photographs, mails and search words, and what was offered and never signed. What was signed,
//! invoiced and paid stays for the years that tax law asks for, as it was sealed. The log has that somebody was erased,
//! and not who. A keyed digest of each email address and telephone number stays as long: `customer/usecase/erased.rs`
//! says why.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/customers/{id}/personal-data` | desk | everything held on a customer |
//! | `POST /v1/customers/{id}/erase` | owner | erases a customer |

pub mod routes;
pub mod usecase;
