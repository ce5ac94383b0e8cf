//! The context of one use case: connection, actor, shop and time.
//!
//! [`Tx::rehearse`] shows what a request would do. It runs the use case itself, in a part of the transaction that is
//! rolled back, so its result can't differ from the real request's. It is offered if a screen shows a price or a place
//! before somebody commits to it. A plan needs none, because reading one changes nothing.

use std::sync::Arc;

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::id::ShopId;
use chrono::NaiveDate;

use super::clock::UtcTime;
use super::config::Config;
use super::db::{Conn, begin_part, end_part};
use super::fail::Done;
use super::identity::{Actor, Studio};
use super::warning::{Confirmed, Warning};

/// Everything that a use case may know beyond its input; always its first argument.
pub struct Tx<'c> {
    /// The connection, inside a transaction.
    pub conn: &'c mut Conn,
    /// Actor who asks.
    pub actor: Actor,
    /// The shop by which every query filters.
    pub studio: Studio,
    /// The time of this use case, the same throughout.
    pub now: UtcTime,
    /// The program's settings, for links in mails.
    pub config: Arc<Config>,
    /// Origin of the request, for evidence; empty for the scheduler.
    pub origin: Origin,
    /// Warnings of the answer so far; [`Tx::warn`] adds to them.
    pub warnings: Vec<Warning>,
    /// Slugs that the client confirms; [`Tx::must_confirm`] checks them.
    pub confirmed: Confirmed,
}

/// Origin of a request.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Origin {
    /// The client's address.
    pub address: String,
    /// User agent that the client states.
    pub agent: String,
}

impl Tx<'_> {
    /// Today's date in the shop's time zone.
    ///
    /// # Errors
    /// If the time zone is unknown, which creating a shop rules out.
    pub fn today(&self) -> Done<NaiveDate> {
        Ok(Zone::named(&self.studio.zone)?.to_local(self.now.minute()).date())
    }

    /// The shop's id.
    pub fn shop(&self) -> &ShopId {
        &self.studio.id
    }

    /// Runs one part of a use case, such as one row of a list. An `Err` is rolled back, and the rest continues.
    pub fn part<T>(&mut self, f: impl FnOnce(&mut Self) -> Done<T>) -> Done<T> {
        self.apart(f, Result::is_ok)
    }

    /// Runs a use case and rolls it back, to find out what it would do.
    pub fn rehearse<T>(&mut self, f: impl FnOnce(&mut Self) -> Done<T>) -> Done<T> {
        self.apart(f, |_| false)
    }

    fn apart<T>(&mut self, f: impl FnOnce(&mut Self) -> Done<T>, keep: impl FnOnce(&Done<T>) -> bool) -> Done<T> {
        begin_part(self.conn)?;
        let result = f(self);
        end_part(self.conn, keep(&result))?;
        result
    }
}

impl<'c> Tx<'c> {
    /// The context for work without a request, such as timed jobs.
    pub fn for_program(
        conn: &'c mut Conn,
        actor: Actor,
        shop: &ShopId,
        now: UtcTime,
        config: Arc<Config>,
    ) -> Done<Self> {
        let studio = Studio::of(conn, shop)?;
        Ok(Self {
            conn,
            actor,
            studio,
            now,
            config,
            origin: Origin::default(),
            warnings: Vec::new(),
            confirmed: Confirmed::default(),
        })
    }
}
