//! How people get in: the first setup, sign-in, refresh, invites and passwords.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/setup` | whoever has the code of the first start | founds the first shop with its owner |
//! | `POST /v1/sessions` | anyone | signs in with address and password |
//! | `POST /v1/sessions/refresh` | whoever has a refresh token | goes on with a sign-in; each token works once |
//! | `POST /v1/sessions/end` | signed in | signs out here |
//! | `POST /v1/sessions/end-all` | signed in | signs out everywhere |
//! | `GET /v1/me` | signed in | who one is, and in which shop |
//! | `POST /v1/me/password` | signed in | changes the password; other sign-ins end |
//! | `POST /v1/people/{id}/invite` | owner | a token with which the person chooses a password |
//! | `POST /v1/invites/accept` | whoever has that token | chooses the password and signs in |
//!
//! Pages sign in by a cookie instead, which `usecase/page.rs` explains.
//!
//! Tries are limited by account and by client address apart before a password is looked at, so that a guesser reaches the
//! hashing only a few times; the wait is short and always ends.

mod store;
pub mod usecase;
