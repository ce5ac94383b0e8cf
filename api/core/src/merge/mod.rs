//! Merging two records of one customer, or of one vehicle, and undoing it.
//!
//! All rows that referred to the merged record refer to the other one from then on: vehicles, enquiries, quotes,
//! bookings, invoices, payments and the tables of later features, since the tables are found by their column. Documents
//! stay exactly as they were sealed. The merged record stays too, with its content, and its address says where it went.
//! The log lists the ids of the rows that moved, so that a merge can be undone.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `POST /v1/customers/{id}/merge` | desk | merges another record of this customer into this one |
//! | `POST /v1/customers/{id}/undo-merge` | desk | undoes the merge of this record |
//! | `POST /v1/vehicles/{id}/merge` | desk | merges another record of this vehicle into this one |
//! | `POST /v1/vehicles/{id}/undo-merge` | desk | undoes the merge of this record |

pub mod usecase;
