//! Roles that a route is for, as part of its signature: `Call<Desk>` refuses a technician before any work is
//! done. Whether it is for sign-ins on a tablet as well is part of it too, so that a page is closed to them unless it says
//! otherwise.

use super::Role;

/// A set of roles that a route is for.
pub trait Audience: 'static {
    /// The roles that may call.
    const ROLES: &'static [Role];

    /// Whether people may call who have signed in on a tablet beside the bays, with four digits.
    const TABLETS: bool = false;

    /// Both together.
    fn invited() -> Invited {
        Invited { roles: Self::ROLES, tablets: Self::TABLETS }
    }
}

/// The people that a route is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Invited {
    /// Their roles.
    pub roles: &'static [Role],
    /// Whether a sign-in on a tablet is enough.
    pub tablets: bool,
}

/// Only the owner: people's accounts, rates, write-offs.
#[derive(Debug)]
pub struct Owner;

/// Owner and desk: everything else that is needed to run the shop.
#[derive(Debug)]
pub struct Desk;

/// Owner, desk and technician: work on cars.
#[derive(Debug)]
pub struct Crew;

/// Owner, desk and technician beside a car, who may have signed in on a tablet.
#[derive(Debug)]
pub struct Bay;

/// Owner, desk and accountant: everything about money.
#[derive(Debug)]
pub struct Accounts;

/// Everybody who is signed in.
#[derive(Debug)]
pub struct Anyone;

impl Audience for Owner {
    const ROLES: &'static [Role] = &[Role::Owner];
}

impl Audience for Desk {
    const ROLES: &'static [Role] = &[Role::Owner, Role::Desk];
}

impl Audience for Crew {
    const ROLES: &'static [Role] = &[Role::Owner, Role::Desk, Role::Technician];
}

impl Audience for Bay {
    const ROLES: &'static [Role] = Crew::ROLES;
    const TABLETS: bool = true;
}

impl Audience for Accounts {
    const ROLES: &'static [Role] = &[Role::Owner, Role::Desk, Role::Accountant];
}

impl Audience for Anyone {
    const ROLES: &'static [Role] = &[Role::Owner, Role::Desk, Role::Technician, Role::Accountant];
}
