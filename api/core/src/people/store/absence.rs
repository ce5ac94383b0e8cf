//! Rows of absences.

use baywright_domain::calendar::{Absence as Away, Dates};
use baywright_domain::id::{AbsenceId, PersonId};
use baywright_domain::time::{Interval, Minute};
use chrono::NaiveDate;
use diesel::prelude::*;

use crate::newest_first;
use crate::people::usecase::{Absence, AbsenceDetails};
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::absence;

#[derive(Queryable, Selectable)]
#[diesel(table_name = absence)]
struct Row {
    id: String,
    person_id: String,
    from_day: Option<String>,
    until_day: Option<String>,
    from_minute: Option<i64>,
    until_minute: Option<i64>,
    note: String,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

impl Row {
    fn read(self) -> Stored<Absence> {
        let row = RowId::of("absence", &self.id);
        let away = match (self.from_day, self.until_day, self.from_minute, self.until_minute) {
            (Some(from), Some(until), None, None) => {
                let dates = Dates::new(row.read("from_day", from)?, row.read("until_day", until)?);
                Away::Days(dates.map_err(|why| row.corrupt("until_day", why))?)
            }
            (None, None, Some(from), Some(until)) => {
                let hours = Interval::new(Minute::new(from), Minute::new(until));
                Away::Hours(hours.ok_or_else(|| row.corrupt("until_minute", "not after from_minute"))?)
            }
            _ => return Err(row.corrupt("from_day", "neither days nor minutes, or both")),
        };
        Ok(Absence {
            version: self.version,
            person: self.person_id.into(),
            details: AbsenceDetails { away, note: self.note },
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            id: self.id.into(),
        })
    }
}

#[derive(Insertable, AsChangeset)]
#[diesel(table_name = absence, treat_none_as_null = true)]
struct Values<'a> {
    from_day: Option<String>,
    until_day: Option<String>,
    from_minute: Option<i64>,
    until_minute: Option<i64>,
    note: &'a str,
    version: i64,
    updated_at: i64,
}

fn values(details: &AbsenceDetails, version: i64, now: UtcTime) -> Values<'_> {
    let (from_day, until_day, from_minute, until_minute) = match details.away {
        Away::Days(dates) => (Some(dates.from().to_string()), Some(dates.until().to_string()), None, None),
        Away::Hours(hours) => (None, None, Some(hours.from().get()), Some(hours.to().get())),
    };
    let updated_at = now.ms();
    Values { from_day, until_day, from_minute, until_minute, note: &details.note, version, updated_at }
}

pub(in crate::people) fn page(tx: &mut Tx<'_>, person: &PersonId, paging: &Paging) -> Stored<Vec<Absence>> {
    let theirs =
        rows_of_shop!(absence, tx).filter(absence::person_id.eq(person.as_str())).select(Row::as_select()).into_boxed();
    let rows: Vec<Row> = newest_first!(theirs, absence::id, absence::created_at, paging, tx.conn);
    rows.into_iter().map(Row::read).collect()
}

/// Absences of anyone in the shop that overlap the period: by day if they are whole days, else by minute.
pub(in crate::people) fn within(
    tx: &mut Tx<'_>,
    days: (NaiveDate, NaiveDate),
    minutes: Interval,
) -> Stored<Vec<Absence>> {
    let by_day = absence::until_day.gt(days.0.to_string()).and(absence::from_day.lt(days.1.to_string()));
    let by_minute = absence::until_minute.gt(minutes.from().get()).and(absence::from_minute.lt(minutes.to().get()));
    let rows: Vec<Row> =
        rows_of_shop!(absence, tx).filter(by_day.or(by_minute)).select(Row::as_select()).load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

pub(in crate::people) fn find(tx: &mut Tx<'_>, person: &PersonId, id: &AbsenceId) -> Stored<Option<Absence>> {
    let row: Option<Row> = rows_of_shop!(absence, tx)
        .filter(absence::person_id.eq(person.as_str()))
        .filter(absence::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

pub(in crate::people) fn insert(
    tx: &mut Tx<'_>,
    person: &PersonId,
    id: &AbsenceId,
    details: &AbsenceDetails,
) -> Stored<()> {
    diesel::insert_into(absence::table)
        .values((
            absence::id.eq(id.as_str()),
            absence::shop_id.eq(tx.studio.id.as_str()),
            absence::person_id.eq(person.as_str()),
            absence::created_at.eq(tx.now.ms()),
            values(details, 1, tx.now),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::people) fn update(tx: &mut Tx<'_>, id: &AbsenceId, version: i64, details: &AbsenceDetails) -> Stored<()> {
    diesel::update(rows_of_shop!(absence, tx).filter(absence::id.eq(id.as_str())))
        .set(values(details, version, tx.now))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::people) fn delete(tx: &mut Tx<'_>, id: &AbsenceId) -> Stored<()> {
    diesel::delete(rows_of_shop!(absence, tx).filter(absence::id.eq(id.as_str()))).execute(tx.conn)?;
    Ok(())
}
