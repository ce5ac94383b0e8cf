//! Rows of weekly shifts.

use std::collections::BTreeMap;

use baywright_domain::calendar::{DayHours, DayOfWeek};
use baywright_domain::id::PersonId;
use diesel::prelude::*;

use crate::platform::db::rows_of_shop;
use crate::platform::fail::{DbError, Stored};
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
        weeks.entry(id).or_default().push(stretch(weekday, begins, ends)?);
    }
    Ok(weeks)
}

fn stretch(weekday: i32, begins: i32, ends: i32) -> Stored<(DayOfWeek, DayHours)> {
    let corrupt = || DbError::Corrupt(format!("shift {weekday} {begins} {ends}"));
    let day = u8::try_from(weekday).ok().and_then(DayOfWeek::of_number).ok_or_else(corrupt)?;
    let times = u16::try_from(begins).ok().zip(u16::try_from(ends).ok());
    let hours = times.and_then(|(begins, ends)| DayHours::new(begins, ends).ok()).ok_or_else(corrupt)?;
    Ok((day, hours))
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
