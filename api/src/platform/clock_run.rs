//! When each job of the clockwork last ran, per shop: the note that keeps replicas from running it twice.

use baywright_domain::id::ShopId;
use diesel::prelude::*;

use super::db::Conn;
use super::fail::Stored;
use super::tx::Tx;
use crate::schema::clock_run;

/// The last period that the job ran for, if it ever did.
pub fn last(conn: &mut Conn, shop: &ShopId, job: &str) -> Stored<Option<i64>> {
    Ok(clock_run::table
        .filter(clock_run::shop_id.eq(shop.as_str()))
        .filter(clock_run::job.eq(job))
        .select(clock_run::period)
        .first(conn)
        .optional()?)
}

/// Notes that the job runs for this period; false where it did already.
pub fn take(tx: &mut Tx<'_>, job: &str, period: i64) -> Stored<bool> {
    let shop = tx.studio.id.clone();
    let now = tx.now.ms();
    match last(tx.conn, &shop, job)? {
        Some(known) if known >= period => return Ok(false),
        Some(_) => {
            let mine = clock_run::table.filter(clock_run::shop_id.eq(shop.as_str())).filter(clock_run::job.eq(job));
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
