//! Quotes: what is offered for a vehicle, at what price, frozen when it is sent, signed once.
//!
//! A quote has revisions: draft → sent → signed · declined · lapsed · withdrawn · replaced. Only a draft can be edited;
//! from then on a change is a new revision. The sealed [`form`] of a revision is what the customer reads.

#![allow(dead_code, unused_imports, reason = "the routes that call this are still to come")]

pub mod form;
mod store;
pub mod usecase;
