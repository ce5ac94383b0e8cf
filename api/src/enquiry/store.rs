//! Rows of enquiries.

use baywright_domain::enquiry::{Channel, CloseReason, EnquiryState};
use baywright_domain::id::{CustomerId, EnquiryId, QuoteId};
use diesel::prelude::*;

use super::usecase::{Caller, Details, Enquiry, Wanted};
use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::{DbError, Stored};
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::enquiry;

#[derive(Queryable, Selectable)]
#[diesel(table_name = enquiry)]
struct Row {
    id: String,
    state: String,
    #[diesel(embed)]
    details: NewRow,
    quote_id: Option<String>,
    close_reason: Option<String>,
    close_note: Option<String>,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = enquiry, treat_none_as_null = true, treat_none_as_default_value = false)]
struct NewRow {
    channel: String,
    customer_id: Option<String>,
    caller_name: Option<String>,
    caller_email: Option<String>,
    caller_phone: Option<String>,
    may_mail: bool,
    may_phone: bool,
    vehicle_id: Option<String>,
    vehicle_words: String,
    wish: String,
    wanted_by: Option<String>,
    notes: String,
}

impl From<&Details> for NewRow {
    fn from(details: &Details) -> Self {
        let caller = details.caller.as_ref();
        Self {
            channel: details.channel.as_str().to_owned(),
            customer_id: details.customer.as_ref().map(ToString::to_string),
            caller_name: caller.map(|caller| caller.name.clone()),
            caller_email: caller.and_then(|caller| caller.email.clone()),
            caller_phone: caller.and_then(|caller| caller.phone.clone()),
            may_mail: caller.is_some_and(|caller| caller.may_mail),
            may_phone: caller.is_some_and(|caller| caller.may_phone),
            vehicle_id: details.vehicle.as_ref().map(ToString::to_string),
            vehicle_words: details.vehicle_words.clone(),
            wish: details.wish.clone(),
            wanted_by: details.wanted_by.map(|day| day.to_string()),
            notes: details.notes.clone(),
        }
    }
}

fn corrupt(error: impl std::fmt::Display) -> DbError {
    DbError::Corrupt(error.to_string())
}

impl NewRow {
    fn into_details(self) -> Stored<Details> {
        let caller = self.caller_name.map(|name| Caller {
            name,
            email: self.caller_email,
            phone: self.caller_phone,
            may_mail: self.may_mail,
            may_phone: self.may_phone,
        });
        Ok(Details {
            channel: Channel::parse(&self.channel).map_err(corrupt)?,
            customer: self.customer_id.map(Into::into),
            caller,
            vehicle: self.vehicle_id.map(Into::into),
            vehicle_words: self.vehicle_words,
            wish: self.wish,
            wanted_by: self.wanted_by.map(|day| day.parse()).transpose().map_err(corrupt)?,
            notes: self.notes,
        })
    }
}

impl TryFrom<Row> for Enquiry {
    type Error = DbError;

    fn try_from(row: Row) -> Stored<Self> {
        Ok(Self {
            id: row.id.into(),
            version: row.version,
            state: EnquiryState::parse(&row.state).map_err(corrupt)?,
            details: row.details.into_details()?,
            quote: row.quote_id.map(Into::into),
            close_reason: row.close_reason.as_deref().map(CloseReason::parse).transpose().map_err(corrupt)?,
            close_note: row.close_note,
            created_at: UtcTime::from_ms(row.created_at),
            updated_at: UtcTime::from_ms(row.updated_at),
        })
    }
}

/// What a move sets.
pub(super) struct Change {
    pub(super) state: EnquiryState,
    pub(super) quote: Option<QuoteId>,
    pub(super) closed: Option<(CloseReason, Option<String>)>,
}

pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Enquiry>> {
    let mut mine = rows_of_shop!(enquiry, tx).select(Row::as_select()).into_boxed();
    if !wanted.states.is_empty() {
        mine = mine.filter(enquiry::state.eq_any(wanted.states.iter().map(|state| state.as_str())));
    }
    if let Some(customer) = &wanted.customer {
        mine = mine.filter(enquiry::customer_id.eq(customer.as_str()));
    }
    let rows: Vec<Row> = newest_first!(mine, enquiry::id, enquiry::created_at, paging, tx.conn);
    rows.into_iter().map(Enquiry::try_from).collect()
}

pub(super) fn find(tx: &mut Tx<'_>, id: &EnquiryId) -> Stored<Option<Enquiry>> {
    let row: Option<Row> = rows_of_shop!(enquiry, tx)
        .filter(enquiry::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Enquiry::try_from).transpose()
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &EnquiryId, details: &Details) -> Stored<()> {
    diesel::insert_into(enquiry::table)
        .values((
            enquiry::id.eq(id.as_str()),
            enquiry::shop_id.eq(tx.studio.id.as_str()),
            enquiry::state.eq(EnquiryState::Open.as_str()),
            NewRow::from(details),
            enquiry::version.eq(1_i64),
            enquiry::created_at.eq(tx.now.ms()),
            enquiry::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn update(tx: &mut Tx<'_>, old: &Enquiry, details: &Details) -> Stored<()> {
    diesel::update(rows_of_shop!(enquiry, tx).filter(enquiry::id.eq(old.id.as_str())))
        .set((NewRow::from(details), enquiry::version.eq(old.version + 1), enquiry::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn set(tx: &mut Tx<'_>, old: &Enquiry, change: &Change) -> Stored<()> {
    let (reason, note) = change.closed.as_ref().map(|(reason, note)| (reason.as_str(), note.as_deref())).unzip();
    diesel::update(rows_of_shop!(enquiry, tx).filter(enquiry::id.eq(old.id.as_str())))
        .set((
            enquiry::state.eq(change.state.as_str()),
            enquiry::quote_id.eq(change.quote.as_ref().map(QuoteId::as_str)),
            enquiry::close_reason.eq(reason),
            enquiry::close_note.eq(note.flatten()),
            enquiry::version.eq(old.version + 1),
            enquiry::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Blanks what the customer's enquiries say of them; the row of a customer's enquiry stands without a caller.
pub(super) fn blank(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<()> {
    diesel::update(rows_of_shop!(enquiry, tx).filter(enquiry::customer_id.eq(customer.as_str())))
        .set((
            enquiry::caller_name.eq(None::<String>),
            enquiry::caller_email.eq(None::<String>),
            enquiry::caller_phone.eq(None::<String>),
            enquiry::vehicle_words.eq(""),
            enquiry::wish.eq(""),
            enquiry::notes.eq(""),
            enquiry::close_note.eq(None::<String>),
            enquiry::version.eq(enquiry::version + 1_i64),
            enquiry::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
