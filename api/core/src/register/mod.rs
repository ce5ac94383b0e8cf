//! The register of issued documents: invoices, deposit invoices, credit notes and receipts of refunds.
//!
//! Each has a narrow row with its number, days, customer, totals and taxes, so that lists, tax summaries and ledgers
//! need not read documents. Every kind has numbers of its own, without gaps: the next number follows from the rows of
//! the register, in the transaction that adds one. Nothing changes or removes a row.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/issued-documents` | accounts | one page of them, newest first; by kind, customer, days |
//! | `GET /v1/number-series` | accounts | the series of each kind with its next number |
//! | `POST /v1/number-series/first` | owner | sets the first number of a series that has given out none |

mod store;
pub mod usecase;
