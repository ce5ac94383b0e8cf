//! The time at which each scheduled job last ran, per shop. It keeps replicas from running a job twice.

use baywright_domain::id::ShopId;
use diesel::dsl::max;
use diesel::prelude::*;

use super::clock::UtcTime;
use super::db::{Conn, rows_of_shop};
use super::fail::Stored;
use super::tx::Tx;
use crate::schema::clock_run;

/// The last period that the job ran for, if it ever did.
pub fn last(conn: &mut Conn, shop: &ShopId, job: &str) -> Stored<Option<i64>> {
    Ok(rows_of_shop!(clock_run, id = shop.as_str())
        .filter(clock_run::job.eq(job))
        .select(clock_run::period)
        .first(conn)
        .optional()?)
}

/// When any job of any shop last ran, by the clock of the replica that ran it.
pub fn latest(conn: &mut Conn) -> Stored<Option<UtcTime>> {
    let ran_at: Option<i64> = clock_run::table.select(max(clock_run::ran_at)).first(conn)?;
    Ok(ran_at.map(UtcTime::from_ms))
}

/// Maximum difference between the clocks of two replicas, in minutes. A note for a time further ahead comes from a
/// clock that was ahead and has been set back since.
const APART_MINUTES: i64 = 10;

/// Whether a job whose last run was for the period `last` still has to run for `period`.
pub fn is_due(last: Option<i64>, period: i64, every_minutes: i64) -> bool {
    let apart = APART_MINUTES.div_euclid(every_minutes.max(1)).max(1);
    last.is_none_or(|last| last < period || last > period.saturating_add(apart))
}

/// Records that the job runs for this period; false if it already did.
pub fn take(tx: &mut Tx<'_>, job: &str, period: i64, every_minutes: i64) -> Stored<bool> {
    let shop = tx.studio.id.clone();
    let now = tx.now.ms();
    match last(tx.conn, &shop, job)? {
        known @ Some(_) if !is_due(known, period, every_minutes) => return Ok(false),
        Some(_) => {
            let mine = rows_of_shop!(clock_run, id = shop.as_str()).filter(clock_run::job.eq(job));
            let to = (clock_run::period.eq(period), clock_run::ran_at.eq(now));
            diesel::update(mine).set(to).execute(tx.conn)?;
        }
        None => {
            diesel::insert_into(clock_run::table)
                .values((
                    clock_run::shop_id.eq(shop.as_str()),
                    clock_run::job.eq(job),
                    clock_run::period.eq(period),
                    clock_run::ran_at.eq(now),
                ))
                .execute(tx.conn)?;
        }
    }
    Ok(true)
}

#[cfg(test)]
mod tests {
    use super::is_due;

    #[test]
    fn a_job_is_due_once_in_a_period_and_again_after_the_clock_was_set_back() {
        assert!(is_due(None, 100, 5));
        assert!(is_due(Some(99), 100, 5));
        assert!(!is_due(Some(100), 100, 5));
        // Another replica's clock is a little ahead.
        assert!(!is_due(Some(101), 100, 5));
        assert!(!is_due(Some(101), 100, 60));
        assert!(!is_due(Some(110), 100, 1));
        // A clock was ahead by more than clocks usually differ.
        assert!(is_due(Some(103), 100, 5));
        assert!(is_due(Some(102), 100, 60));
        assert!(is_due(Some(i64::MAX), i64::MAX - 1000, 1));
    }
}
