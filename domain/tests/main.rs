//! The laws of the domain, tried on examples, on random cases and against exhaustive searches. All files are modules of
//! one program, so that the studio, the random cases and the domain are linked once and not once per file.

#![allow(clippy::unwrap_used, reason = "a wrong one fails the test")]

mod exhaustive;
mod moves;
mod studio;

mod availability_laws;
mod document_laws;
mod front_laws;
mod interval_laws;
mod invoice_examples;
mod job_laws;
mod learning_laws;
mod ledger_laws;
mod menu_laws;
mod payment_laws;
mod place_laws;
mod plan_laws;
mod pricing_laws;
mod quote_laws;
mod signoff_laws;
mod states_laws;
mod stays_laws;
mod tax_laws;
mod visit_laws;
mod week_laws;
mod what_if_laws;
