//! Roles that a route is for, as part of its signature: `Call<Desk>` refuses a technician before any work is
//! done.

use super::Role;

/// A set of roles that a route is for.
pub trait Audience: 'static {
    /// The roles that may call.
    const ROLES: &'static [Role];
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

impl Audience for Accounts {
    const ROLES: &'static [Role] = &[Role::Owner, Role::Desk, Role::Accountant];
}

impl Audience for Anyone {
    const ROLES: &'static [Role] = &[Role::Owner, Role::Desk, Role::Technician, Role::Accountant];
}
