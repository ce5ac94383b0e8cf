//! Rows of links and sign-offs.

mod link;
mod signoff;

pub(super) use link::{blank_links, end_all, find_link, insert_link, mark_opened, mark_used, shop_of_hash};
pub(super) use signoff::{NewRow, batch, find, insert};
