//! Work plans: the steps of all signed work, each once, in the order in which they are done.
//!
//! A plan is made when a quote or a variation is signed, from the menu as it was when the quote was sent, and never
//! changes: a change of the menu, or a better way of ordering steps, never alters promised work. Work that is signed
//! later makes the next plan of the same quote; the latest one applies. A plan has no prices. The estimates from
//! earlier jobs at that time, and so the promise, are stored with it too.
//!
//! Estimates are stored because the promise of a booking must not depend on what was learned between two requests, and
//! because a plan's ETag is its number: it never changes. Jobs that are finished later count for the next plan.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/quotes/{id}/plan` | crew | the latest plan of a signed quote |

pub mod kept;
mod store;
pub mod usecase;
