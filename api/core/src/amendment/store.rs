//! Rows of amendments.

use baywright_domain::id::{BookingId, PersonId};
use baywright_domain::undo::AmendmentKind;
use diesel::prelude::*;

use super::usecase::{Amendment, What};
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::amendment;

#[derive(Queryable, Selectable, Insertable)]
#[diesel(table_name = amendment)]
struct Row {
    id: String,
    shop_id: String,
    booking_id: String,
    kind: String,
    step: Option<String>,
    undone: Option<String>,
    made_at: Option<i64>,
    person_id: Option<String>,
    reason: Option<String>,
    at: i64,
}

impl Row {
    fn read(self) -> Stored<Amendment> {
        let row = RowId::of("amendment", &self.id);
        let kind: AmendmentKind = row.read("kind", self.kind)?;
        let what = match (kind, self.undone, self.made_at) {
            (AmendmentKind::Undone, Some(what), Some(at)) => What::Undone { what, made_at: row.read("made_at", at)? },
            (AmendmentKind::TimesCorrected, None, None) => What::TimesCorrected,
            (AmendmentKind::WaitEnded, None, None) => What::WaitEnded,
            _ => return Err(row.corrupt("undone", "what was undone doesn't fit its kind")),
        };
        Ok(Amendment {
            booking: self.booking_id.into(),
            step: self.step,
            what,
            person: self.person_id.map(PersonId::from),
            reason: self.reason,
            at: row.read("at", self.at)?,
            id: self.id,
        })
    }
}

pub(super) fn insert(tx: &mut Tx<'_>, new: &Amendment) -> Stored<()> {
    let (undone, made_at) = match &new.what {
        What::Undone { what, made_at } => (Some(what.clone()), Some(made_at.ms())),
        What::TimesCorrected | What::WaitEnded => (None, None),
    };
    let row = Row {
        id: new.id.clone(),
        shop_id: tx.studio.id.to_string(),
        booking_id: new.booking.to_string(),
        kind: new.what.kind().as_str().to_owned(),
        step: new.step.clone(),
        undone,
        made_at,
        person_id: new.person.as_ref().map(ToString::to_string),
        reason: new.reason.clone(),
        at: new.at.ms(),
    };
    diesel::insert_into(amendment::table).values(&row).execute(tx.conn)?;
    Ok(())
}

/// The amendments of a booking, latest first.
pub(super) fn of_booking(tx: &mut Tx<'_>, booking: &BookingId, most: usize) -> Stored<Vec<Amendment>> {
    let rows: Vec<Row> = rows_of_shop!(amendment, tx)
        .filter(amendment::booking_id.eq(booking.as_str()))
        .order(amendment::id.desc())
        .limit(i64::try_from(most).unwrap_or(i64::MAX))
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

/// Removes the reasons of some bookings' amendments.
pub(super) fn blank(tx: &mut Tx<'_>, bookings: &[String]) -> Stored<()> {
    diesel::update(
        rows_of_shop!(amendment, id = tx.studio.id.to_string()).filter(amendment::booking_id.eq_any(bookings)),
    )
    .set(amendment::reason.eq(None::<String>))
    .execute(tx.conn)?;
    Ok(())
}
