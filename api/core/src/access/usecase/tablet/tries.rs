//! Tries of digits are counted per tablet, whoever they are for: after five in a row that failed, each further one waits twice as
//! long, an hour at most, and an hour without a try forgets them. So 10,000 combinations take somebody who has the tablet in
//! their hands more than two months, and the owner ends a tablet that is gone.
//!
//! A person's right digits take back their own failures alone. Otherwise somebody could guess a colleague's digits and clear the
//! count with their own in between.

use baywright_domain::id::{PersonId, TabletId};

use crate::access::store::attempt;
use crate::access::usecase::attempt::{Limits, blocked, counted};
use crate::platform::canonical;
use crate::platform::db::Conn;
use crate::platform::door::Door;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;

/// A counted try.
pub(super) struct Try {
    /// Digest of the tablet.
    tablet: String,
    /// Digest of the tablet and the person.
    person: String,
}

impl Try {
    /// Counts a try on that tablet, or says how long to wait.
    ///
    /// # Errors
    /// `TooOften` with the code `too-many-attempts` if the tablet must wait.
    pub(super) fn count(door: &Door, tablet: &TabletId, who: &PersonId) -> Done<Self> {
        let this = Self {
            tablet: canonical::digest(&format!("tablet\n{tablet}")),
            person: canonical::digest(&format!("tablet\n{tablet}\n{who}")),
        };
        let now = door.now();
        door.write(|conn| {
            let before = attempt::find(conn, &this.tablet)?;
            if let Some(until) = before.as_ref().and_then(|row| blocked(row, now)) {
                let seconds = u64::try_from(until - now.ms()).unwrap_or(0).div_ceil(1000);
                let minutes = seconds.div_ceil(60);
                let detail = format!(
                    "Too many wrong digits were typed on this tablet. Try again in {minutes} min, or sign in with your email \
                     address."
                );
                return Err(Refused::too_many("too-many-attempts", detail, seconds).into());
            }
            attempt::put(conn, &counted(&this.tablet, before, now, Limits::TABLET))?;
            let own = attempt::find(conn, &this.person)?;
            Ok(attempt::put(conn, &counted(&this.person, own, now, Limits::TABLET))?)
        })?;
        Ok(this)
    }

    /// Records that the digits were right.
    pub(super) fn succeeded(&self, conn: &mut Conn) -> Done<()> {
        let own = attempt::find(conn, &self.person)?.map_or(0, |row| row.failures);
        attempt::remove(conn, &self.person)?;
        if let Some(mut all) = attempt::find(conn, &self.tablet)? {
            all.failures = all.failures.saturating_sub(own).max(0);
            all.blocked_until = 0;
            attempt::put(conn, &all)?;
        }
        Ok(())
    }
}
