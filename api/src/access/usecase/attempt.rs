//! Tries are limited by account and by address apart, and nobody is locked out for good.
//!
//! - One account, tried from one address: after a few failures in a row each further try must wait, twice as long each
//!   time, a quarter of an hour at most; a quarter of an hour without a try forgets them. Each try counts before anything
//!   is looked at, in a transaction of its own, so that many at once count too.
//! - All tries from one address together ([`App::tries`](crate::server::App)): they come out of an allowance that refills
//!   within seconds. Whoever shares an address with a guesser is slowed by it, never shut out.

use crate::access::store::attempt::{self as store, Row};
use crate::platform::canonical;
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
/// The longest wait. A longer one would stop no guesser, who can come back after [`WINDOW_MINUTES`] as if nothing was.
const LONGEST_WAIT_MINUTES: i64 = WINDOW_MINUTES;
/// Tries for one account from one client address (or network, `platform::rate::counted_as`).
const PER_ACCOUNT: i32 = 5;
/// Minutes after which tries may be deleted.
const KEPT_MINUTES: i64 = 24 * 60;

/// One try at an account's password.
pub(super) struct Attempt {
    key: String,
}

impl Attempt {
    /// A try at the account with that address, from the client behind the door.
    pub(super) fn at(door: &Door, account: &str) -> Self {
        let (account, from) = (account.to_lowercase(), door.counted_as());
        Self { key: canonical::digest(&format!("account\n{account}\n{from}")) }
    }

    /// Counts the try, or says how long to wait.
    pub(super) fn count(&self, door: &Door) -> Done<()> {
        let now = door.now();
        // A try that must wait takes nothing from its address's allowance.
        let waits = |row: Option<Row>| row.and_then(|row| blocked(&row, now)).map(|until| come_back(until, now));
        if let Some(refusal) = waits(door.read(|conn| Ok(store::find(conn, &self.key)?))?) {
            return Err(refusal.into());
        }
        slow(door)?;
        let refusal = door.write(|conn| {
            let row = store::find(conn, &self.key)?;
            if let Some(refusal) = waits(row.clone()) {
                return Ok(Some(refusal));
            }
            store::put(conn, &counted(&self.key, row, now))?;
            Ok(None)
        })?;
        refusal.map_or(Ok(()), |refusal| Err(refusal.into()))
    }

    /// It succeeded: the account starts anew.
    pub(super) fn succeeded(&self, conn: &mut Conn) -> Done<()> {
        Ok(store::remove(conn, &self.key)?)
    }
}

/// Takes a try from the allowance of the client's address. That is all the limit a secret needs that nobody can guess,
/// such as an invite's token: a limit of its own would let a stranger keep the right one out.
pub fn slow(door: &Door) -> Done<()> {
    match door.app().tries.take(&door.counted_as()).wait_seconds() {
        None => Ok(()),
        Some(seconds) => {
            let detail = format!("Too many attempts came from this address. Try again in {seconds} s.");
            Err(Problem::too_many("too-many-attempts", detail, seconds).into())
        }
    }
}

/// Until when no try is taken, if one is not taken now. A row of later than now was made before the clock was set back:
/// its wait is over, since it would otherwise last as much longer.
fn blocked(row: &Row, now: UtcTime) -> Option<i64> {
    (row.blocked_until > now.ms() && row.since <= now.ms()).then_some(row.blocked_until)
}

/// The row after one more try.
fn counted(key: &str, before: Option<Row>, now: UtcTime) -> Row {
    let quiet = now.plus_minutes(-WINDOW_MINUTES).ms();
    let earlier = before.filter(|row| row.since.max(row.blocked_until) > quiet).map_or(0, |row| row.failures);
    let failures = earlier.saturating_add(1);
    let blocked_until = match u32::try_from(failures - PER_ACCOUNT) {
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
    let detail = format!(
        "Too many attempts failed. Try again in {minutes} min, or ask an owner for an invite to choose a new password."
    );
    Problem::too_many("too-many-attempts", detail, seconds)
}

/// Deletes tries and tokens that have expired.
pub fn forget_old(tx: &mut Tx<'_>) -> Done<()> {
    let limit = tx.now.plus_minutes(-KEPT_MINUTES);
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
            let next = counted("k", row, now);
            let wait = (next.blocked_until - now.ms()).max(0) / 60_000;
            waits.push(wait);
            now = now.plus_minutes(wait);
            row = Some(next);
        }
        assert_eq!(waits[..10], [0, 0, 0, 0, 1, 2, 4, 8, 15, 15]);
        let later = now.plus_minutes(WINDOW_MINUTES);
        assert_eq!(counted("k", row, later).failures, 1);
    }

    #[test]
    fn a_clock_that_is_set_back_prolongs_no_wait() {
        let now = UtcTime::from_ms(1_000_000_000);
        let row = Row { key: "k".to_owned(), failures: 7, since: now.ms(), blocked_until: now.plus_minutes(4).ms() };
        assert_eq!(blocked(&row, now.plus_minutes(3)), Some(row.blocked_until));
        assert_eq!(blocked(&row, now.plus_minutes(4)), None);
        let back = now.plus_minutes(-24 * 60);
        assert_eq!(blocked(&row, back), None);
        // The failures still count, and the next wait is by the clock as it is now.
        let next = counted("k", Some(row), back);
        assert_eq!((next.failures, next.blocked_until), (8, back.plus_minutes(8).ms()));
    }
}
