//! Attempts are limited per account and per address, and nobody is locked out for good.
//!
//! - One account, tried from one address: after a few failures in a row each further try must wait, twice as long each
//!   time, a quarter of an hour at most; a quarter of an hour without a try forgets them. Each attempt counts before
//!   anything is checked, in a transaction of its own, so that many at once count too.
//! - One account, tried from many addresses: once [`ATTACK`] attempts have failed, each address from which nobody has
//!   signed in to it may fail twice, then waits, for a minute for each of those failures and an hour at most. The
//!   attempts of one IPv6 site are counted together as well. So the right password is accepted from every address that
//!   did not guess; known addresses, and people who are signed in, are not slowed down at all.
//! - All attempts from one address together ([`Program::tries`](crate::platform::program::Program)): they are taken
//!   from an allowance that refills within seconds. People who share an address with a guesser are slowed down by it,
//!   never shut out; an account that is known there has an allowance of its own.
//!
//! The waits of an account are in the database; the allowance of an address is in the memory of each program. The first
//! attempt from an address, or from an IPv6 site during an attack, is never refused because of other people's attempts,
//! because such a limit would let a stranger lock the account. An address from which somebody has signed in counts as
//! known for 90 days.

use baywright_domain::people::email_key;

use crate::access::store::attempt::Row;
use crate::access::store::{attempt, known, refresh};
use crate::platform::canonical;
use crate::platform::clock::UtcTime;
use crate::platform::db::Conn;
use crate::platform::door::Door;
use crate::platform::fail::Done;
use crate::platform::rate::counted_as;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;

/// Minutes without an attempt after which the earlier ones are forgotten.
const WINDOW_MINUTES: i64 = 15;
/// Minutes to wait after the last allowed try; doubled each time.
const FIRST_WAIT_MINUTES: i64 = 1;
/// The longest wait. A longer one would not stop a guesser, who can come back after [`WINDOW_MINUTES`] with a clean
/// slate.
const LONGEST_WAIT_MINUTES: i64 = WINDOW_MINUTES;
/// Tries for one account from one client address (or network, `platform::rate::counted_as`).
const PER_ACCOUNT: i32 = 5;
/// Minutes after which attempts may be deleted.
const KEPT_MINUTES: i64 = 24 * 60;

/// Failures at one account, from addresses that it does not know, after which it counts as under attack.
const ATTACK: i32 = 20;
/// Minutes without such a failure after which the earlier ones are forgotten.
const ATTACK_QUIET_MINUTES: i64 = 60;
/// Failures of an address at an account under attack before the first wait: a typing error costs nothing.
const ATTACK_FREE: i32 = 2;
/// Shortest and longest wait of an address that fails at an account under attack, in minutes. A stranger can cause an
/// attack, so the longest must be bearable for a person.
const ATTACK_WAIT_MINUTES: [i64; 2] = [30, 60];
/// Minutes for which an address is known after a sign-in: 90 days.
const KNOWN_MINUTES: i64 = 90 * 24 * 60;

/// One attempt at an account's password, which is counted.
pub(super) struct Attempt {
    /// Digest of the account and the client's address.
    here: String,
    /// `None` if the account knows the address, or if the person is signed in.
    stranger: Option<Stranger>,
}

/// The other counters for an attempt that comes from an address which the account does not know.
struct Stranger {
    /// Digest of the account, whose failures are counted over all addresses.
    everywhere: String,
    /// Digest of the account and the client's site, if it comes by IPv6.
    site: Option<String>,
}

/// Number of tries an address has at an account, and how it waits then.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Limits {
    /// Number of failures before the first wait.
    free: i32,
    /// The first wait, in minutes; each further one is twice as long.
    first: i64,
    longest: i64,
    /// Minutes without an attempt after which the earlier ones are forgotten.
    window: i64,
}

impl Limits {
    const USUAL: Self =
        Self { free: PER_ACCOUNT, first: FIRST_WAIT_MINUTES, longest: LONGEST_WAIT_MINUTES, window: WINDOW_MINUTES };

    /// The limits for digits that are typed on a tablet. `tablet/tries.rs` says why.
    pub(super) const TABLET: Self = Self { free: PER_ACCOUNT, first: FIRST_WAIT_MINUTES, longest: 60, window: 60 };

    /// The limits for an unknown address, after that number of attempts from such addresses has failed.
    fn after(failures: i32) -> Self {
        if failures < ATTACK {
            return Self::USUAL;
        }
        let [shortest, longest] = ATTACK_WAIT_MINUTES;
        let wait = i64::from(failures).clamp(shortest, longest);
        Self { free: ATTACK_FREE, first: wait, longest: wait, window: wait }
    }
}

impl Attempt {
    /// Counts an attempt at the account with that email address from the client of `door`, or says how long to wait.
    pub(super) fn count(door: &Door, email: &str) -> Done<Self> {
        Self::count_by(door, email, false)
    }

    /// Like that, for the account's own person, who is signed in and so is no stranger at any address.
    pub(super) fn count_signed_in(door: &Door, email: &str) -> Done<Self> {
        Self::count_by(door, email, true)
    }

    fn count_by(door: &Door, email: &str, signed_in: bool) -> Done<Self> {
        let (account, from, now) = (email_key(email), door.counted_as(), door.now());
        let known_here = known_key(&account, &from);
        let counting = door.read(|conn| {
            let is_known = signed_in || known::is_known(conn, &known_here, now)?;
            let site = door.site().map(|site| canonical::digest(&format!("site\n{account}\n{site}")));
            let everywhere = canonical::digest(&format!("everywhere\n{account}"));
            let counting = Self {
                here: canonical::digest(&format!("account\n{account}\n{from}")),
                stranger: (!is_known).then_some(Stranger { everywhere, site }),
            };
            // An attempt that must wait takes nothing from its address's allowance.
            counting.rows(conn, now)?;
            Ok(counting)
        })?;
        take_one(door, if counting.stranger.is_none() { &known_here } else { &from })?;
        door.write(|conn| {
            for row in counting.rows(conn, now)? {
                attempt::put(conn, &row)?;
            }
            Ok(())
        })?;
        Ok(counting)
    }

    /// The rows that count this attempt, with it included.
    ///
    /// # Errors
    /// `TooOften` with the code `too-many-attempts` if one of them must wait.
    fn rows(&self, conn: &mut Conn, now: UtcTime) -> Done<Vec<Row>> {
        let failures = match &self.stranger {
            Some(stranger) => failures_of_strangers(attempt::find(conn, &stranger.everywhere)?.as_ref(), now),
            None => 0,
        };
        let limits = Limits::after(failures);
        // Without an attack each address is counted by itself.
        let site = self.site().filter(|_| limits != Limits::USUAL);
        let mut rows = Vec::new();
        for key in [Some(self.here.as_str()), site].into_iter().flatten() {
            let before = attempt::find(conn, key)?;
            if let Some(until) = before.as_ref().and_then(|row| blocked(row, now)) {
                return Err(come_back(until, now, limits).into());
            }
            rows.push(counted(key, before, now, limits));
        }
        Ok(rows)
    }

    fn site(&self) -> Option<&str> {
        self.stranger.as_ref().and_then(|stranger| stranger.site.as_deref())
    }

    /// Records a failure: from an unknown address, it counts for the account as well.
    pub(super) fn failed(&self, door: &Door) -> Done<()> {
        let Some(Stranger { everywhere, .. }) = &self.stranger else { return Ok(()) };
        let now = door.now();
        door.write(|conn| {
            let failures = failures_of_strangers(attempt::find(conn, everywhere)?.as_ref(), now).saturating_add(1);
            let row = Row { key: everywhere.clone(), failures, since: now.ms(), blocked_until: 0 };
            Ok(attempt::put(conn, &row)?)
        })
    }

    /// Records a success: this address and its site start again from zero for the account.
    pub(super) fn succeeded(&self, conn: &mut Conn) -> Done<()> {
        attempt::remove(conn, &self.here)?;
        if let Some(site) = self.site() {
            attempt::remove(conn, site)?;
        }
        Ok(())
    }
}

/// Digest of an account and an address from which somebody has signed in to it.
fn known_key(account: &str, from: &str) -> String {
    canonical::digest(&format!("known\n{account}\n{from}"))
}

/// Stores the address that a person signs in from as known to their account.
pub(super) fn know_address(tx: &mut Tx<'_>, email: &str) -> Done<()> {
    // The first setup signs in without a client address.
    if tx.origin.address.is_empty() {
        return Ok(());
    }
    let key = known_key(&email_key(email), &counted_as(&tx.origin.address));
    let until = tx.now.plus_minutes(KNOWN_MINUTES);
    Ok(known::keep(tx, &key, until)?)
}

/// Failures at an account from unknown addresses that are not forgotten yet.
fn failures_of_strangers(row: Option<&Row>, now: UtcTime) -> i32 {
    let quiet = now.plus_minutes(-ATTACK_QUIET_MINUTES).ms();
    row.filter(|row| row.since > quiet).map_or(0, |row| row.failures)
}

/// Takes an attempt from the allowance of the client's address. A secret that nobody can guess, such as an invite's
/// token, needs no other limit: a limit of its own would let a stranger keep the right person out.
pub fn slow(door: &Door) -> Done<()> {
    take_one(door, &door.counted_as())
}

/// Takes an attempt from the allowance of that name.
fn take_one(door: &Door, allowance: &str) -> Done<()> {
    match door.program().tries.take(allowance).wait_seconds() {
        None => Ok(()),
        Some(seconds) => {
            let detail = format!("Too many attempts came from this address. Try again in {seconds} s.");
            Err(Refused::too_many("too-many-attempts", detail, seconds).into())
        }
    }
}

/// Time until which no attempt is accepted, if one is not accepted now. A row with a later time than now was made
/// before the clock was set back: its wait counts as over, since it would otherwise last longer by as much.
pub(super) fn blocked(row: &Row, now: UtcTime) -> Option<i64> {
    (row.blocked_until > now.ms() && row.since <= now.ms()).then_some(row.blocked_until)
}

/// The row after one more attempt.
pub(super) fn counted(key: &str, before: Option<Row>, now: UtcTime, limits: Limits) -> Row {
    let quiet = now.plus_minutes(-limits.window).ms();
    let earlier = before.filter(|row| row.since.max(row.blocked_until) > quiet).map_or(0, |row| row.failures);
    let failures = earlier.saturating_add(1);
    let blocked_until = match u32::try_from(failures - limits.free) {
        Ok(beyond) => {
            let wait = limits.first.saturating_mul(1_i64.checked_shl(beyond.min(30)).unwrap_or(i64::MAX));
            now.plus_minutes(wait.min(limits.longest)).ms()
        }
        Err(_) => 0,
    };
    Row { key: key.to_owned(), failures, since: now.ms(), blocked_until }
}

fn come_back(until: i64, now: UtcTime, limits: Limits) -> Refused {
    let seconds = u64::try_from(until - now.ms()).unwrap_or(0).div_ceil(1000);
    let minutes = seconds.div_ceil(60);
    let detail = if limits == Limits::USUAL {
        format!(
            "Too many attempts failed. Try again in {minutes} min, or ask an owner for an invite to choose a new password."
        )
    } else {
        format!(
            "Somebody is guessing the password of this account from many addresses. Try again in {minutes} min, sign in \
             where you signed in before, or ask an owner for an invite to choose a new password."
        )
    };
    Refused::too_many("too-many-attempts", detail, seconds)
}

/// Deletes tries, tokens and known addresses that have expired.
pub fn forget_old(tx: &mut Tx<'_>) -> Done<()> {
    let limit = tx.now.plus_minutes(-KEPT_MINUTES);
    attempt::remove_before(tx.conn, limit)?;
    known::remove_ended(tx)?;
    Ok(refresh::remove_before(tx, limit)?)
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
            let next = counted("k", row, now, Limits::USUAL);
            let wait = (next.blocked_until - now.ms()).max(0) / 60_000;
            waits.push(wait);
            now = now.plus_minutes(wait);
            row = Some(next);
        }
        assert_eq!(waits[..10], [0, 0, 0, 0, 1, 2, 4, 8, 15, 15]);
        let later = now.plus_minutes(WINDOW_MINUTES);
        assert_eq!(counted("k", row, later, Limits::USUAL).failures, 1);
    }

    #[test]
    fn each_address_may_fail_twice_at_an_account_under_attack_and_waits_an_hour_at_most() {
        assert_eq!(Limits::after(ATTACK - 1), Limits::USUAL);
        let now = UtcTime::from_ms(1_000_000_000);
        for (failures, minutes) in [(ATTACK, 30), (45, 45), (1_000_000, 60)] {
            let limits = Limits::after(failures);
            let first = counted("k", None, now, limits);
            assert_eq!(first.blocked_until, 0, "{failures}");
            let second = counted("k", Some(first), now, limits);
            let over = now.plus_minutes(minutes);
            assert_eq!(second.blocked_until, over.ms(), "{failures}");
            assert_eq!(blocked(&second, over), None);
            let again = counted("k", Some(second), over, limits);
            assert_eq!(again.blocked_until, now.plus_minutes(2 * minutes).ms(), "{failures}");
        }
        let row = Row { key: "k".to_owned(), failures: 50, since: now.ms(), blocked_until: 0 };
        assert_eq!(failures_of_strangers(Some(&row), now.plus_minutes(ATTACK_QUIET_MINUTES - 1)), 50);
        assert_eq!(failures_of_strangers(Some(&row), now.plus_minutes(ATTACK_QUIET_MINUTES)), 0);
        assert_eq!(failures_of_strangers(None, now), 0);
    }

    #[test]
    fn a_clock_that_is_set_back_prolongs_no_wait() {
        let now = UtcTime::from_ms(1_000_000_000);
        let row = Row { key: "k".to_owned(), failures: 7, since: now.ms(), blocked_until: now.plus_minutes(4).ms() };
        assert_eq!(blocked(&row, now.plus_minutes(3)), Some(row.blocked_until));
        assert_eq!(blocked(&row, now.plus_minutes(4)), None);
        let back = now.plus_minutes(-24 * 60);
        assert_eq!(blocked(&row, back), None);
        // The failures still count, and the next wait is measured by the clock as it is now.
        let next = counted("k", Some(row), back, Limits::USUAL);
        assert_eq!((next.failures, next.blocked_until), (8, back.plus_minutes(8).ms()));
    }
}
