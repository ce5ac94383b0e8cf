//! Use cases of signing in and out.

mod attempt;
mod invite;
mod page;
mod password;
mod session;
pub mod tablet;

use baywright_domain::id::{PersonId, ShopId};
use baywright_domain::people::Role;

pub use attempt::{forget_old, slow};
pub use invite::{INVITE_MINUTES, Invite, accept, accept_on_pages, check_invite, end_invites, invite};
pub use page::{open_on_pages, sign_in_on_pages, used_on_pages};
pub use password::change_password;
pub use session::{
    Opened, SESSION_HOURS, end_all, end_in_memory, end_late, end_this, me, open_for, open_session, refresh, sign_in,
};

pub use tablet::{AtTablet, Tablet};

/// The data of an account that signing in needs.
#[derive(Debug, Clone)]
pub struct Account {
    /// Id of the person.
    pub id: PersonId,
    /// Id of the shop.
    pub shop: ShopId,
    /// Name of the person.
    pub name: String,
    /// The address they sign in with.
    pub email: String,
    /// Role of the person.
    pub role: Role,
    /// Whether they may sign in.
    pub active: bool,
    /// The digest of their password, if they have chosen one.
    pub digest: Option<String>,
    /// The shop's name.
    pub shop_name: String,
}

impl Account {
    /// Words that a guesser would try first, so a password must not consist of them.
    fn known(&self) -> [&str; 3] {
        [&self.name, &self.email, &self.shop_name]
    }
}
