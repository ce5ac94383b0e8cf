//! People who work in the shop. Signing in is in [`crate::access`].
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/people`, `GET /v1/people/{id}` | desk | accounts with role, skills and weekly shifts |
//! | `POST /v1/people`, `PUT /v1/people/{id}` | owner | adds one, replaces one |
//! | `POST /v1/people/{id}/deactivate`, `…/reactivate` | owner | ends access at once, restores it |
//! | `/v1/people/{id}/absences`, `…/{absence}` | desk | time in which the person is away |

mod store;
pub mod usecase;
