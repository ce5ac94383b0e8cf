//! Sign-ins that were prolonged in memory, because the database could not be written.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

use super::clock::UtcTime;

/// Refresh tokens that were shown while the database could not be written, by digest, and when each is idle for too long.
#[derive(Debug, Default)]
pub struct Prolonged(Mutex<HashMap<String, UtcTime>>);

impl Prolonged {
    /// Time when the token with that digest ends, if it was prolonged; the epoch if it was not.
    pub fn end_of(&self, digest: &str) -> UtcTime {
        let all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.get(digest).copied().unwrap_or_else(|| UtcTime::from_ms(0))
    }

    /// Prolongs a token, which is one of the program's own, and removes those that ended.
    pub fn keep(&self, digest: &str, until: UtcTime, now: UtcTime) {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|_, end| *end > now);
        all.insert(digest.to_owned(), until);
    }
}
