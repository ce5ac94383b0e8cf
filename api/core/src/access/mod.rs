//! Signing in: the first setup, sign-ins, refreshing them, invites and passwords.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/setup` | anyone with the setup code of the first start | creates the first shop with its owner |
//! | `POST /v1/sessions` | anyone | signs in with address and password |
//! | `POST /v1/sessions/refresh` | anyone with a refresh token | continues a sign-in; each token works once |
//! | `POST /v1/sessions/end` | signed in | signs out here |
//! | `POST /v1/sessions/end-all` | signed in | signs out everywhere |
//! | `GET /v1/me` | signed in | the signed-in person and their shop |
//! | `POST /v1/me/password` | signed in | changes the password; other sign-ins end |
//! | `POST /v1/people/{id}/invite` | owner | a token with which the person chooses a password |
//! | `POST /v1/invites/accept` | anyone with that token | chooses the password and signs in |
//! | `GET /v1/tablets` | owner | the tablets beside the bays |
//! | `POST /v1/tablets` | owner | adds one, with the code that enrols a device |
//! | `POST /v1/tablets/{id}/end` | owner | ends one with its sign-ins |
//! | `POST /v1/people/{id}/tablet-digits` | owner | sets or removes the digits of a person |
//! | `POST /v1/me/tablet-digits` | crew | sets or removes one's own digits |
//!
//! Pages sign in by a cookie instead, which `usecase/page.rs` explains.
//!
//! Tries are limited per account and, separately, per client address before a password is checked, so that a guesser
//! reaches the hashing only a few times; the wait is short and always ends.

mod store;
pub mod usecase;
