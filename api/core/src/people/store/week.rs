//! Rows of weekly shifts.

use std::collections::BTreeMap;

use baywright_domain::calendar::{DayHours, DayOfWeek};
use baywright_domain::id::PersonId;
use diesel::prelude::*;

use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::shift;

type Week = Vec<(DayOfWeek, DayHours)>;

/// The usual week of everyone in the shop who has one.
pub(in crate::people) fn of_everyone(tx: &mut Tx<'_>) -> Stored<BTreeMap<String, Week>> {
    let rows: Vec<(String, i32, i32, i32)> = rows_of_shop!(shift, tx)
        .order((shift::weekday.asc(), shift::begins.asc()))
        .select((shift::person_id, shift::weekday, shift::begins, shift::ends))
        .load(tx.conn)?;
    let mut weeks: BTreeMap<String, Week> = BTreeMap::new();
    for (id, weekday, begins, ends) in rows {
        let row = RowId::of("shift", &id);
        let day: DayOfWeek = row.read("weekday", weekday)?;
        let hours = DayHours::new(row.read("begins", begins)?, row.read("ends", ends)?);
        let hours = hours.map_err(|why| row.corrupt("ends", why))?;
        weeks.entry(id).or_default().push((day, hours));
    }
    Ok(weeks)
}

pub(in crate::people) fn put(tx: &mut Tx<'_>, id: &PersonId, week: &[(DayOfWeek, DayHours)]) -> Stored<()> {
    diesel::delete(rows_of_shop!(shift, tx).filter(shift::person_id.eq(id.as_str()))).execute(tx.conn)?;
    for (day, hours) in week {
        diesel::insert_into(shift::table)
            .values((
                shift::person_id.eq(id.as_str()),
                shift::shop_id.eq(tx.studio.id.as_str()),
                shift::weekday.eq(i32::from(day.number())),
                shift::begins.eq(i32::from(hours.opens())),
                shift::ends.eq(i32::from(hours.closes_on_the_clock())),
            ))
            .execute(tx.conn)?;
    }
    Ok(())
}
