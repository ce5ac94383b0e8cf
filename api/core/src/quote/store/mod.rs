//! Rows of quotes and their revisions.

mod list;
mod quote;
mod revision;

pub(super) use list::page;
pub use list::{Listed, Wanted};
pub(super) use quote::{find, insert, last_counter, touch, with_latest};
pub(super) use revision::{
    Basis, Frozen, RevisionRow, blank, due, ending, explanation, find_revision, freeze, frozen_basis, insert_draft,
    latest_signed, move_revision, numbers, replace_draft, revision_of_id, sealed, waiting_since,
};
