//! Rows of links and sign-offs.

mod link;
mod signoff;

pub(super) use link::{
    blank_links, end_all, end_one, find_link, insert_link, link_of_id, links, mark_opened, mark_used, shop_of_hash,
};
pub(super) use signoff::{NewRow, batch, find, insert};
