//! The courier: leases a mail, sends it outside any transaction, stores the result.
//!
//! Several replicas may each run one. A mail whose lease expired (the replica was killed) is leased again, so a mail is
//! sent at least once; a mail that keeps failing waits longer each time and is given up in the end, but kept.

use std::sync::Arc;

use baywright_domain::id::ShopId;

use super::carrier::{self, Carrier, NoWay};
use crate::message::usecase::{self as message, Outcome, Parcel};
use crate::platform::clock::Clock;
use crate::platform::config::Config;
use crate::platform::db::{Db, Scope};
use crate::platform::fail::Done;
use crate::platform::identity::Actor;
use crate::platform::telemetry::Metrics;
use crate::platform::tx::Tx;

/// Sends the mails that wait in the outbox. Blocking.
pub struct Courier {
    db: Db,
    clock: Clock,
    config: Arc<Config>,
    metrics: Metrics,
    carrier: Carrier,
}

impl Courier {
    /// A courier over an opened database.
    ///
    /// # Errors
    /// [`NoWay`] if the mail settings can't be used.
    pub fn new(db: Db, clock: Clock, config: Arc<Config>, metrics: Metrics) -> Result<Self, NoWay> {
        let carrier = Carrier::new(&config.mail, &config.data)?;
        Ok(Self { db, clock, config, metrics, carrier })
    }

    /// Sends mails that are due, until there are no more, the mail server is out of reach, or `stop` says so; returns
    /// the number of mails that it tried.
    pub fn pass(&self, stop: &dyn Fn() -> bool) -> Done<usize> {
        let tried = self.serve(stop);
        self.measure()?;
        tried
    }

    fn serve(&self, stop: &dyn Fn() -> bool) -> Done<usize> {
        let now = self.clock.now();
        let mut tried = 0;
        for shop in self.db.read(|conn| message::shops_to_serve(conn, now))? {
            while !stop() {
                let Some(parcel) = self.in_shop(&shop, message::take)? else { break };
                let went = self.carrier.carry(&parcel.message);
                tried += 1;
                log(&parcel, &went.outcome);
                if !self.in_shop(&shop, |tx| message::settle(tx, &parcel, &went.outcome))? {
                    carrier::forget(&self.config.data, &[parcel.message.id.to_string()]);
                }
                if went.unreachable {
                    return Ok(tried);
                }
            }
        }
        Ok(tried)
    }

    fn in_shop<T>(&self, shop: &ShopId, mut f: impl FnMut(&mut Tx<'_>) -> Done<T>) -> Done<T> {
        self.db.write(Scope::Shop(shop), |conn| {
            f(&mut Tx::for_program(conn, Actor::Clockwork, shop, self.clock.now(), self.config.clone())?)
        })
    }

    fn measure(&self) -> Done<()> {
        let (count, oldest) = self.db.read(message::waiting)?;
        let age = oldest.map_or(0, |since| (self.clock.now().ms() - since.ms()).max(0) / 1000);
        self.metrics.outbox_pending.set(count);
        self.metrics.outbox_oldest_seconds.set(age);
        Ok(())
    }
}

/// One log line about a try, without names and addresses.
fn log(parcel: &Parcel, outcome: &Outcome) {
    let message = &parcel.message;
    match outcome {
        Outcome::Sent => tracing::info!(mail = %message.id, tries = message.tries, "mail sent"),
        Outcome::Later(_) => tracing::warn!(mail = %message.id, tries = message.tries, "mail waits for another try"),
        Outcome::Refused(_) => tracing::warn!(mail = %message.id, tries = message.tries, "mail given up"),
    }
}
