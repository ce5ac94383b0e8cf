//! Work plans: the steps of everything that was signed, each once, in the order in which they are done.
//!
//! A plan is made when a quote or a variation is signed, from the menu as it was when the quote was sent, and kept as
//! it was made: a change of the menu, or a better way of ordering steps, never alters work that is promised. What is
//! signed later makes the next plan of the same quote; the latest is the one that counts. A plan has no prices. What
//! earlier jobs made of its budgets when it was made, and so what is promised, is kept with it too.
//!
//! What was believed is kept because the promise of a booking must not depend on what was learned between two requests,
//! and because a plan's ETag is its number: it never changes. Jobs that are finished later count for the next plan.
//!
//! | route | who | what |
//! | --- | --- | --- |
//! | `GET /v1/quotes/{id}/plan` | crew | the latest plan of a signed quote |

pub mod kept;
mod store;
pub mod usecase;
