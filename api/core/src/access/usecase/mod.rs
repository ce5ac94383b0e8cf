//! What is done to get in, and out.

mod attempt;
mod invite;
mod page;
mod password;
mod session;

use baywright_domain::id::{PersonId, ShopId};
use baywright_domain::people::Role;

pub use attempt::{forget_old, slow};
pub use invite::{INVITE_MINUTES, Invite, accept, invite};
pub use page::{open_on_pages, sign_in_on_pages, used_on_pages};
pub use password::change_password;
pub use session::{Opened, SESSION_HOURS, end_all, end_this, me, open_for, open_session, refresh, sign_in};

/// What signing in needs to know of an account.
#[derive(Debug, Clone)]
pub struct Account {
    /// Id of the person.
    pub id: PersonId,
    /// In which shop.
    pub shop: ShopId,
    /// Their name.
    pub name: String,
    /// The address they sign in with.
    pub email: String,
    /// What they may do.
    pub role: Role,
    /// Whether they may sign in.
    pub active: bool,
    /// The digest of their password, where they have chosen one.
    pub digest: Option<String>,
    /// The shop's name.
    pub shop_name: String,
}

impl Account {
    /// Words that a guesser would try first.
    fn known(&self) -> [&str; 3] {
        [&self.name, &self.email, &self.shop_name]
    }
}
