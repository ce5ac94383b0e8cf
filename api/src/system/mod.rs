//! What machines ask of the program itself: is it alive, is it ready, how is it doing, what can it do.
//!
//! | route | answer |
//! | --- | --- |
//! | `GET /healthz`, `GET /livez` | 200 while the process runs |
//! | `GET /readyz` | 200 while the database takes changes and the disk has room for them, else 503 |
//! | `GET /metrics` | Prometheus text, for programs on this machine or with the token of the settings |
//! | `GET /openapi.json` | the API document |
//! | `GET /docs/` | the document as pages on which requests can be tried |

pub mod pages;
pub mod routes;
