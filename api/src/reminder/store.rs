//! Rows of reminders.

use baywright_domain::id::{CustomerId, MessageId};
use baywright_domain::reminder::{ReminderKind, ReminderWay};
use chrono::NaiveDate;
use diesel::prelude::*;

use super::usecase::{Reminder, Wanted};
use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::{DbError, Stored};
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::reminder;

#[derive(Queryable, Selectable)]
#[diesel(table_name = reminder)]
struct Row {
    id: String,
    kind: String,
    subject_kind: String,
    subject_id: String,
    occasion: String,
    customer_id: String,
    way: String,
    message_id: Option<String>,
    sent_on: String,
    created_at: i64,
}

fn corrupt(error: impl std::fmt::Display) -> DbError {
    DbError::Corrupt(error.to_string())
}

impl TryFrom<Row> for Reminder {
    type Error = DbError;

    fn try_from(row: Row) -> Stored<Self> {
        Ok(Self {
            id: row.id.into(),
            kind: ReminderKind::parse(&row.kind).map_err(corrupt)?,
            subject: (row.subject_kind, row.subject_id),
            occasion: row.occasion,
            customer: row.customer_id.into(),
            way: ReminderWay::parse(&row.way).map_err(corrupt)?,
            message: row.message_id.map(Into::into),
            sent_on: row.sent_on.parse().map_err(corrupt)?,
            created_at: UtcTime::from_ms(row.created_at),
        })
    }
}

pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Reminder>> {
    let mut mine = rows_of_shop!(reminder, tx).select(Row::as_select()).into_boxed();
    if !wanted.kinds.is_empty() {
        mine = mine.filter(reminder::kind.eq_any(wanted.kinds.iter().map(|kind| kind.as_str())));
    }
    if !wanted.ways.is_empty() {
        mine = mine.filter(reminder::way.eq_any(wanted.ways.iter().map(|way| way.as_str())));
    }
    if let Some(customer) = &wanted.customer {
        mine = mine.filter(reminder::customer_id.eq(customer.as_str()));
    }
    let rows: Vec<Row> = newest_first!(mine, reminder::id, reminder::created_at, paging, tx.conn);
    rows.into_iter().map(Reminder::try_from).collect()
}

/// Subject, occasion and day of what was given about those subjects, in order.
pub(super) fn given(
    tx: &mut Tx<'_>,
    kind: ReminderKind,
    subjects: Vec<String>,
) -> Stored<Vec<(String, String, NaiveDate)>> {
    let rows: Vec<(String, String, String)> = rows_of_shop!(reminder, tx)
        .filter(reminder::kind.eq(kind.as_str()))
        .filter(reminder::subject_id.eq_any(subjects))
        .order(reminder::id.asc())
        .select((reminder::subject_id, reminder::occasion, reminder::sent_on))
        .load(tx.conn)?;
    rows.into_iter().map(|(subject, occasion, day)| Ok((subject, occasion, day.parse().map_err(corrupt)?))).collect()
}

pub(super) fn insert(tx: &mut Tx<'_>, new: &Reminder) -> Stored<()> {
    diesel::insert_into(reminder::table)
        .values((
            reminder::id.eq(new.id.as_str()),
            reminder::shop_id.eq(tx.studio.id.as_str()),
            reminder::kind.eq(new.kind.as_str()),
            reminder::subject_kind.eq(&new.subject.0),
            reminder::subject_id.eq(&new.subject.1),
            reminder::occasion.eq(&new.occasion),
            reminder::customer_id.eq(new.customer.as_str()),
            reminder::way.eq(new.way.as_str()),
            reminder::message_id.eq(new.message.as_ref().map(MessageId::as_str)),
            reminder::sent_on.eq(new.sent_on.to_string()),
            reminder::created_at.eq(new.created_at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Removes the notes of a customer's reminders.
pub(super) fn remove(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<()> {
    diesel::delete(rows_of_shop!(reminder, tx).filter(reminder::customer_id.eq(customer.as_str()))).execute(tx.conn)?;
    Ok(())
}
