//! What all parts of one running program share: its database, clock, keys, settings and limits.

use std::num::NonZeroU32;
use std::sync::Arc;

use super::clock::Clock;
use super::config::Config;
use super::db::Db;
use super::ended::Ended;
use super::keyring::Keyring;
use super::password::Passwords;
use super::prolonged::Prolonged;
use super::rate::Rate;
use super::telemetry::Metrics;

/// Rate limit per address for guesses at customer links, per minute.
const MISSES: NonZeroU32 = match NonZeroU32::new(30) {
    Some(number) => number,
    None => NonZeroU32::MIN,
};

/// Rate limit per address for passwords and codes, per minute; all attempts may come at once, then one more every two
/// seconds. Several people may share one address.
const TRIES: NonZeroU32 = match NonZeroU32::new(30) {
    Some(number) => number,
    None => NonZeroU32::MIN,
};

/// State that requests, jobs and commands of one program share.
pub struct Program {
    /// The database.
    pub db: Db,
    /// The time.
    pub clock: Clock,
    /// The keys of access tokens.
    pub keys: Keyring,
    /// The line before the hashing of passwords.
    pub passwords: Passwords,
    /// Sign-ins that were prolonged while the database could not be written.
    pub prolonged: Prolonged,
    /// Sign-ins that ended while the database could not be written.
    pub ended: Ended,
    /// The settings.
    pub config: Arc<Config>,
    /// Limit on the requests of one client.
    pub rate: Rate,
    /// Limit on the requests for the program's health of one client, beside all others.
    pub probes: Rate,
    /// Limit on guesses at customer links, per address.
    pub misses: Rate,
    /// Limit on attempts at passwords and codes, per address.
    pub tries: Rate,
    /// Metrics of the program.
    pub metrics: Metrics,
}

/// A metric can't be created, which is a defect of the program.
#[derive(Debug, thiserror::Error)]
#[error("can't start: {0}")]
pub struct NotMade(#[from] prometheus::Error);

impl Program {
    /// The shared state over an opened database.
    ///
    /// # Errors
    /// [`NotMade`] if a metric can't be created.
    pub fn new(db: Db, clock: Clock, keys: Keyring, config: Config) -> Result<Self, NotMade> {
        Ok(Self {
            db,
            clock,
            keys,
            passwords: Passwords::default(),
            prolonged: Prolonged::default(),
            ended: Ended::default(),
            rate: Rate::per_minute(config.rate),
            probes: Rate::per_minute(config.rate),
            misses: Rate::per_minute(MISSES),
            tries: Rate::per_minute(TRIES),
            metrics: Metrics::new()?,
            config: Arc::new(config),
        })
    }
}
