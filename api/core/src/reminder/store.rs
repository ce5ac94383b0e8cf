//! Rows of reminders.

use baywright_domain::id::{CustomerId, MessageId};
use baywright_domain::reminder::ReminderKind;
use chrono::NaiveDate;
use diesel::prelude::*;

use super::usecase::{Reminder, Wanted};
use crate::newest_first;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
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

impl Row {
    fn read(self) -> Stored<Reminder> {
        let row = RowId::of("reminder", &self.id);
        Ok(Reminder {
            kind: row.read("kind", self.kind)?,
            subject: (self.subject_kind, self.subject_id),
            occasion: self.occasion,
            customer: self.customer_id.into(),
            way: row.read("way", self.way)?,
            message: self.message_id.map(MessageId::new),
            sent_on: row.read("sent_on", self.sent_on)?,
            created_at: row.read("created_at", self.created_at)?,
            id: self.id.into(),
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
    rows.into_iter().map(Row::read).collect()
}

/// Subject, occasion and day of the reminders about those subjects, in order.
pub(super) fn given(
    tx: &mut Tx<'_>,
    kind: ReminderKind,
    subjects: Vec<String>,
) -> Stored<Vec<(String, String, NaiveDate)>> {
    let rows: Vec<(String, String, String, String)> = rows_of_shop!(reminder, tx)
        .filter(reminder::kind.eq(kind.as_str()))
        .filter(reminder::subject_id.eq_any(subjects))
        .order(reminder::id.asc())
        .select((reminder::id, reminder::subject_id, reminder::occasion, reminder::sent_on))
        .load(tx.conn)?;
    let read = |(id, subject, occasion, sent_on): (String, String, String, String)| {
        let day: NaiveDate = RowId::of("reminder", &id).read("sent_on", sent_on)?;
        Ok((subject, occasion, day))
    };
    rows.into_iter().map(read).collect()
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

/// Deletes a customer's reminders.
pub(super) fn remove(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<()> {
    diesel::delete(rows_of_shop!(reminder, tx).filter(reminder::customer_id.eq(customer.as_str()))).execute(tx.conn)?;
    Ok(())
}
