//! Requests that come before anyone is signed in, and the few that must wait for a password to be hashed.
//!
//! Such a use case can't be one transaction. A failed attempt must count although the request is refused. Nothing may
//! be locked while a password is hashed. If a refresh token comes twice, its sign-in ends, and that must be committed
//! although the request is refused. So the use case gets a [`Door`] and opens its short transactions itself.

use std::sync::Arc;

use baywright_domain::id::ShopId;

use super::clock::UtcTime;
use super::db::{Conn, Scope};
use super::fail::Done;
use super::identity::Actor;
use super::program::Program;
use super::rate::{counted_as, site_of};
use super::refusal::Refused;
use super::tx::{Origin, Tx};

/// Access to the program before sign-in.
#[derive(Clone)]
pub struct Door {
    program: Arc<Program>,
    origin: Origin,
}

impl Door {
    /// Access to a program for a request from that origin.
    pub fn new(program: Arc<Program>, origin: Origin) -> Self {
        Self { program, origin }
    }

    /// The program.
    pub fn program(&self) -> &Program {
        &self.program
    }

    /// The key by which attempts are counted: the client's address, or its network.
    pub fn counted_as(&self) -> String {
        counted_as(&self.origin.address)
    }

    /// The site of a client that comes by IPv6.
    pub fn site(&self) -> Option<String> {
        site_of(&self.origin.address)
    }

    /// The client's address.
    pub fn address(&self) -> &str {
        &self.origin.address
    }

    /// The time.
    pub fn now(&self) -> UtcTime {
        self.program.clock.now()
    }

    /// Reads records of any shop. Blocking.
    pub fn read<T>(&self, f: impl FnOnce(&mut Conn) -> Done<T>) -> Done<T> {
        self.program.db.read(f)
    }

    /// Reads records of that shop as that actor. Blocking.
    pub fn read_in<T>(&self, shop: &ShopId, actor: Actor, f: impl FnOnce(&mut Tx<'_>) -> Done<T>) -> Done<T> {
        self.program.db.read(|conn| {
            let mut tx = Tx::for_program(conn, actor, shop, self.now(), self.program.config.clone())?;
            tx.origin = self.origin.clone();
            f(&mut tx)
        })
    }

    /// The refusal of an invalid secret: `NotFound`, or `TooOften` after many tries.
    pub fn missed(&self, record: &str) -> Refused {
        self.program.misses.take(&self.counted_as()).refusal().unwrap_or_else(|| Refused::not_found(record))
    }

    /// Changes records of no shop, in a transaction. Blocking; may run more than once.
    pub fn write<T>(&self, f: impl FnMut(&mut Conn) -> Done<T>) -> Done<T> {
        self.program.db.write(Scope::Program, f)
    }

    /// Changes records of that shop, in a transaction, as that actor. Blocking; may run more than once.
    pub fn in_shop<T>(&self, shop: &ShopId, actor: &Actor, mut f: impl FnMut(&mut Tx<'_>) -> Done<T>) -> Done<T> {
        self.program.db.write(Scope::Shop(shop), |conn| {
            let mut tx = Tx::for_program(conn, actor.clone(), shop, self.now(), self.program.config.clone())?;
            tx.origin = self.origin.clone();
            f(&mut tx)
        })
    }
}
