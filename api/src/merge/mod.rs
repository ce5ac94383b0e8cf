//! Two records of one customer, or of one vehicle, made one, and taken apart again.
//!
//! Everything that names the merged record names the other one from then on: vehicles, first calls, quotes, bookings,
//! invoices, payments and what a later feature adds, since the tables are found by their column. Documents stay to the
//! letter as they were sealed. The merged record stays too, with what it said, and its address says where it went. The
//! log says by ids what moved, so that a merge can be taken back.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/customers/{id}/merge` | desk | merges another record of this customer into this one |
//! | `POST /v1/customers/{id}/undo-merge` | desk | takes the merge of this record back |
//! | `POST /v1/vehicles/{id}/merge` | desk | merges another record of this vehicle into this one |
//! | `POST /v1/vehicles/{id}/undo-merge` | desk | takes the merge of this record back |

pub mod routes;
pub mod usecase;
