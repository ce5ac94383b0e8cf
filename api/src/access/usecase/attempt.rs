//! Tries are limited, and nobody is locked out for good.
//!
//! A try is counted before anything is looked at, in a transaction of its own, so that many at once count too. After
//! the allowed number each further one must wait, twice as long each time, a day at most; a quarter of an hour without
//! a try forgets them.

use crate::access::store::attempt::{self as store, Row};
use crate::documents::canonical;
use crate::platform::clock::UtcTime;
use crate::platform::db::Conn;
use crate::platform::door::Door;
use crate::platform::fail::Done;
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;

/// Minutes without a try after which the earlier ones are forgotten.
const WINDOW_MINUTES: i64 = 15;
/// Minutes to wait after the last allowed try; doubled each time.
const FIRST_WAIT_MINUTES: i64 = 1;
/// The longest wait.
const LONGEST_WAIT_MINUTES: i64 = 24 * 60;
/// Tries from one client address (or network, `platform::rate::counted_as`), whatever the account: several people may
/// sit behind one.
const PER_ADDRESS: i32 = 30;
/// Tries for one account from one client address.
const PER_ACCOUNT: i32 = 5;

/// One try at something that only its owner should manage.
pub(super) struct Attempt {
    counted: [(String, i32); 2],
}

impl Attempt {
    /// A try at `what` (an account's address, or a word for the kind of secret) from the client behind the door.
    pub(super) fn at(door: &Door, what: &str) -> Self {
        let key = |text: String| canonical::digest(&text);
        let (what, from) = (what.to_lowercase(), door.counted_as());
        Self {
            counted: [
                (key(format!("account\n{what}\n{from}")), PER_ACCOUNT),
                (key(format!("address\n{from}")), PER_ADDRESS),
            ],
        }
    }

    /// Counts the try, or says how long to wait.
    pub(super) fn count(&self, door: &Door) -> Done<()> {
        let now = door.now();
        let wait = door.write(|conn| {
            for (key, _) in &self.counted {
                if let Some(until) = store::find(conn, key)?.map(|row| row.blocked_until).filter(|at| *at > now.ms()) {
                    return Ok(Some(until));
                }
            }
            for (key, allowed) in &self.counted {
                let row = store::find(conn, key)?;
                store::put(conn, &counted(key, row, *allowed, now))?;
            }
            Ok(None)
        })?;
        wait.map_or(Ok(()), |until| Err(come_back(until, now).into()))
    }

    /// It succeeded: its account starts anew, and the client has this one back.
    pub(super) fn succeeded(&self, conn: &mut Conn) -> Done<()> {
        store::remove(conn, &self.counted[0].0)?;
        let key = &self.counted[1].0;
        match store::find(conn, key)? {
            Some(row) if row.failures > 1 => store::put(conn, &Row { failures: row.failures - 1, ..row })?,
            Some(_) => store::remove(conn, key)?,
            None => {}
        }
        Ok(())
    }
}

/// The row after one more try.
fn counted(key: &str, before: Option<Row>, allowed: i32, now: UtcTime) -> Row {
    let quiet = now.plus_minutes(-WINDOW_MINUTES).ms();
    let earlier = before.filter(|row| row.since.max(row.blocked_until) > quiet).map_or(0, |row| row.failures);
    let failures = earlier.saturating_add(1);
    let blocked_until = match u32::try_from(failures - allowed) {
        Ok(beyond) => {
            let wait = FIRST_WAIT_MINUTES.saturating_mul(1_i64.checked_shl(beyond.min(30)).unwrap_or(i64::MAX));
            now.plus_minutes(wait.min(LONGEST_WAIT_MINUTES)).ms()
        }
        Err(_) => 0,
    };
    Row { key: key.to_owned(), failures, since: now.ms(), blocked_until }
}

fn come_back(until: i64, now: UtcTime) -> Problem {
    let seconds = u64::try_from(until - now.ms()).unwrap_or(0).div_ceil(1000);
    let minutes = seconds.div_ceil(60);
    let detail =
        format!("Too many tries failed. Try again in {minutes} min; an owner can invite you to choose a new password.");
    Problem::too_many("too-many-attempts", detail, seconds)
}

/// Forgets tries and tokens that count no more.
pub fn forget_old(tx: &mut Tx<'_>) -> Done<()> {
    let limit = tx.now.plus_minutes(-LONGEST_WAIT_MINUTES);
    store::remove_before(tx.conn, limit)?;
    Ok(crate::access::store::refresh::remove_before(tx, limit)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_wait_begins_after_the_allowed_tries_doubles_and_ends() {
        let mut now = UtcTime::from_ms(0);
        let mut row = None;
        let mut waits = Vec::new();
        for _ in 0..20 {
            let next = counted("k", row, PER_ACCOUNT, now);
            let wait = (next.blocked_until - now.ms()).max(0) / 60_000;
            waits.push(wait);
            now = now.plus_minutes(wait);
            row = Some(next);
        }
        assert_eq!(waits[..8], [0, 0, 0, 0, 1, 2, 4, 8]);
        assert_eq!(waits[19], LONGEST_WAIT_MINUTES);
        let later = now.plus_minutes(WINDOW_MINUTES);
        assert_eq!(counted("k", row, PER_ACCOUNT, later).failures, 1);
    }
}
