//! Questions of machines about the program itself: whether it is alive and ready, its metrics, and its API.
//!
//! | route | answer |
//! | --- | --- |
//! | `GET /healthz`, `GET /livez` | 200 while the process runs |
//! | `GET /readyz` | 200 while the database accepts changes and the disk has space for them, else 503 |
//! | `GET /metrics` | Prometheus text, for programs on this machine or with the token of the settings |
//! | `GET /openapi.json` | the API document |
//! | `GET /docs/` | the document as pages on which requests can be tried |

pub mod pages;
pub mod routes;
