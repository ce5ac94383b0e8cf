//! The frame of pages for people who have signed in: where they are, where they can go, and who they are.

use baywright_core::access::usecase::me;
use baywright_core::platform::fail::Done;
use baywright_core::platform::tx::Tx;
use baywright_domain::people::Role;

use super::assets;

/// A page that the band leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// Its address.
    pub address: &'static str,
    /// Label of the link.
    pub label: &'static str,
    /// Whether the page is this one.
    pub here: bool,
}

/// The places of the band, with the roles that may go there.
const PLACES: [(&str, &str, &[Role]); 7] = [
    ("/today", "Today", &[Role::Owner, Role::Desk, Role::Technician]),
    ("/new-car", "New car", &[Role::Owner, Role::Desk]),
    ("/diary", "Diary", &[Role::Owner, Role::Desk, Role::Technician]),
    ("/cars", "Cars", &[Role::Owner, Role::Desk, Role::Accountant]),
    ("/menu", "Menu", &[Role::Owner]),
    ("/people", "People", &[Role::Owner]),
    ("/shop", "Shop", &[Role::Owner, Role::Desk]),
];

/// The person who has signed in, as a frame names them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Insider {
    /// Name of the studio.
    pub studio: String,
    /// Name of the person.
    pub name: String,
    /// Role of the person.
    pub role: Role,
}

impl Insider {
    /// The person who asks.
    ///
    /// # Errors
    /// Those of the database.
    pub fn of(tx: &mut Tx<'_>) -> Done<Self> {
        let account = me(tx)?;
        Ok(Self { studio: tx.studio.name.clone(), name: account.name, role: account.role })
    }

    /// Whether the person works at the desk, as owners do.
    pub fn is_at_desk(&self) -> bool {
        matches!(self.role, Role::Owner | Role::Desk)
    }

    /// Whether the person owns the studio.
    pub fn is_owner(&self) -> bool {
        self.role == Role::Owner
    }
}

/// What stands around a page of the desk.
#[derive(Debug, Clone)]
pub struct DeskFrame {
    /// The browser's title.
    pub title: String,
    /// The person who has signed in.
    pub insider: Insider,
    /// Where the band leads.
    pub places: Vec<Place>,
    /// Code of the form that signs out.
    pub code: String,
    /// Address of the style sheet.
    pub style: String,
    /// Address of the icon.
    pub icon: String,
}

impl DeskFrame {
    /// The frame of a page; `address` is that of its place in the band.
    pub fn new(title: impl Into<String>, insider: Insider, code: &str, address: &str) -> Self {
        let open = PLACES.into_iter().filter(|(_, _, roles)| roles.contains(&insider.role));
        let places = open.map(|(place, label, _)| Place { address: place, label, here: place == address });
        Self {
            title: title.into(),
            places: places.collect(),
            insider,
            code: code.to_owned(),
            style: assets::desk_style(),
            icon: assets::icon(),
        }
    }
}
