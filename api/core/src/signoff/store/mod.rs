//! Rows of links, sign-offs and later agreements.

mod early_start;
mod link;
mod signoff;

pub(super) use early_start::{NewEarlyStart, early_start_at, insert_early_start};
pub(super) use link::{
    blank_links, end_all, end_one, find_link, insert_link, link_of_id, links, links_since, mark_opened, mark_used,
    shop_of_hash,
};
pub(super) use signoff::{NewRow, batch, find, insert};
