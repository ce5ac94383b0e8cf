//! Rows of opening hours and closures.

use baywright_domain::calendar::{Dates, DayHours, DayOfWeek};
use baywright_domain::id::ClosureId;
use diesel::prelude::*;

use crate::newest_first;
use crate::platform::db::{Conn, RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{closure, opening_hours, shop};
use crate::shop::usecase::{Closure, ClosureDetails};

/// The usual week as periods of hours, in order, and its version.
pub(in crate::shop) fn week(tx: &mut Tx<'_>) -> Stored<(Vec<(DayOfWeek, DayHours)>, i64)> {
    let shop_id = tx.studio.id.as_str();
    let rows: Vec<(i32, i32, i32)> = rows_of_shop!(opening_hours, id = shop_id)
        .order((opening_hours::weekday.asc(), opening_hours::opens.asc()))
        .select((opening_hours::weekday, opening_hours::opens, opening_hours::closes))
        .load(tx.conn)?;
    let version = shop::table.filter(shop::id.eq(shop_id)).select(shop::hours_version).first(tx.conn)?;
    let mut week = Vec::with_capacity(rows.len());
    for (weekday, opens, closes) in rows {
        let row = RowId::of("opening_hours", shop_id);
        let day: DayOfWeek = row.read("weekday", weekday)?;
        let hours = DayHours::new(row.read("opens", opens)?, row.read("closes", closes)?);
        week.push((day, hours.map_err(|why| row.corrupt("closes", why))?));
    }
    Ok((week, version))
}

pub(in crate::shop) fn put_week(
    conn: &mut Conn,
    shop_id: &str,
    week: &[(DayOfWeek, DayHours)],
    version: i64,
) -> Stored<()> {
    diesel::delete(rows_of_shop!(opening_hours, id = shop_id)).execute(conn)?;
    for (day, hours) in week {
        diesel::insert_into(opening_hours::table)
            .values((
                opening_hours::shop_id.eq(shop_id),
                opening_hours::weekday.eq(i32::from(day.number())),
                opening_hours::opens.eq(i32::from(hours.opens())),
                opening_hours::closes.eq(i32::from(hours.closes_on_the_clock())),
            ))
            .execute(conn)?;
    }
    diesel::update(shop::table.filter(shop::id.eq(shop_id))).set(shop::hours_version.eq(version)).execute(conn)?;
    Ok(())
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = closure)]
struct Row {
    id: String,
    bay_id: Option<String>,
    from_day: String,
    until_day: String,
    reason: String,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

impl Row {
    fn read(self) -> Stored<Closure> {
        let row = RowId::of("closure", &self.id);
        let dates = Dates::new(row.read("from_day", self.from_day)?, row.read("until_day", self.until_day)?);
        Ok(Closure {
            version: self.version,
            details: ClosureDetails {
                bay: self.bay_id.map(Into::into),
                dates: dates.map_err(|why| row.corrupt("until_day", why))?,
                reason: self.reason,
            },
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            id: self.id.into(),
        })
    }
}

pub(in crate::shop) fn page(tx: &mut Tx<'_>, paging: &Paging) -> Stored<Vec<Closure>> {
    let mine = rows_of_shop!(closure, tx).select(Row::as_select()).into_boxed();
    let rows: Vec<Row> = newest_first!(mine, closure::id, closure::created_at, paging, tx.conn);
    rows.into_iter().map(Row::read).collect()
}

/// Closures that overlap the days from `from` up to, not including, `until`.
pub(in crate::shop) fn between(
    tx: &mut Tx<'_>,
    from: chrono::NaiveDate,
    until: chrono::NaiveDate,
) -> Stored<Vec<Closure>> {
    let rows: Vec<Row> = rows_of_shop!(closure, tx)
        .filter(closure::until_day.gt(from.to_string()))
        .filter(closure::from_day.lt(until.to_string()))
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

pub(in crate::shop) fn find(tx: &mut Tx<'_>, id: &ClosureId) -> Stored<Option<Closure>> {
    let row: Option<Row> = rows_of_shop!(closure, tx)
        .filter(closure::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

pub(in crate::shop) fn insert(tx: &mut Tx<'_>, id: &ClosureId, details: &ClosureDetails) -> Stored<()> {
    diesel::insert_into(closure::table)
        .values((
            closure::id.eq(id.as_str()),
            closure::shop_id.eq(tx.studio.id.as_str()),
            closure::bay_id.eq(details.bay.as_ref().map(AsRef::as_ref)),
            closure::from_day.eq(details.dates.from().to_string()),
            closure::until_day.eq(details.dates.until().to_string()),
            closure::reason.eq(&details.reason),
            closure::version.eq(1_i64),
            closure::created_at.eq(tx.now.ms()),
            closure::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::shop) fn update(tx: &mut Tx<'_>, id: &ClosureId, version: i64, details: &ClosureDetails) -> Stored<()> {
    diesel::update(rows_of_shop!(closure, tx).filter(closure::id.eq(id.as_str())))
        .set((
            closure::bay_id.eq(details.bay.as_ref().map(AsRef::as_ref)),
            closure::from_day.eq(details.dates.from().to_string()),
            closure::until_day.eq(details.dates.until().to_string()),
            closure::reason.eq(&details.reason),
            closure::version.eq(version),
            closure::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::shop) fn delete(tx: &mut Tx<'_>, id: &ClosureId) -> Stored<()> {
    diesel::delete(rows_of_shop!(closure, tx).filter(closure::id.eq(id.as_str()))).execute(tx.conn)?;
    Ok(())
}
