//! Rows of enquiries.

use baywright_domain::enquiry::{Channel, CloseReason, EnquiryState};
use baywright_domain::id::{CustomerId, EnquiryId, QuoteId, VehicleId};
use chrono::NaiveDate;
use diesel::prelude::*;

use super::usecase::{Caller, Details, Enquiry, Wanted};
use crate::newest_first;
use crate::platform::db::{RowId, columns, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::enquiry;

columns! {
    /// Details of an enquiry, without the caller.
    struct Columns in enquiry as Details {
        channel: Channel,
        customer = customer_id: Option<CustomerId>,
        vehicle = vehicle_id: Option<VehicleId>,
        vehicle_words: String,
        wish: String,
        wanted_by: Option<NaiveDate>,
        notes: String,
    }
    with { caller: Option<Caller> }
}

/// A caller who is not a customer yet; without a name there is none.
#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = enquiry, treat_none_as_null = true, treat_none_as_default_value = false)]
struct CallerColumns {
    caller_name: Option<String>,
    caller_email: Option<String>,
    caller_phone: Option<String>,
    may_mail: bool,
    may_phone: bool,
}

impl CallerColumns {
    fn of(caller: Option<&Caller>) -> Self {
        Self {
            caller_name: caller.map(|caller| caller.name.clone()),
            caller_email: caller.and_then(|caller| caller.email.clone()),
            caller_phone: caller.and_then(|caller| caller.phone.clone()),
            may_mail: caller.is_some_and(|caller| caller.may_mail),
            may_phone: caller.is_some_and(|caller| caller.may_phone),
        }
    }

    fn read(self) -> Option<Caller> {
        self.caller_name.map(|name| Caller {
            name,
            email: self.caller_email,
            phone: self.caller_phone,
            may_mail: self.may_mail,
            may_phone: self.may_phone,
        })
    }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = enquiry)]
struct Row {
    id: String,
    state: String,
    #[diesel(embed)]
    details: Columns,
    #[diesel(embed)]
    caller: CallerColumns,
    quote_id: Option<String>,
    close_reason: Option<String>,
    close_note: Option<String>,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

impl Row {
    fn read(self) -> Stored<Enquiry> {
        let row = RowId::of("enquiry", &self.id);
        Ok(Enquiry {
            version: self.version,
            state: row.read("state", self.state)?,
            details: self.details.read(&self.id, self.caller.read())?,
            quote: self.quote_id.map(QuoteId::new),
            close_reason: row.read("close_reason", self.close_reason)?,
            close_note: self.close_note,
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            id: self.id.into(),
        })
    }
}

/// Fields that a move sets.
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
    rows.into_iter().map(Row::read).collect()
}

pub(super) fn find(tx: &mut Tx<'_>, id: &EnquiryId) -> Stored<Option<Enquiry>> {
    let row: Option<Row> = rows_of_shop!(enquiry, tx)
        .filter(enquiry::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

/// The enquiries that name no customer, oldest first.
pub(super) fn without_customer(tx: &mut Tx<'_>) -> Stored<Vec<Enquiry>> {
    let rows: Vec<Row> = rows_of_shop!(enquiry, tx)
        .filter(enquiry::customer_id.is_null())
        .select(Row::as_select())
        .order(enquiry::id.asc())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &EnquiryId, details: &Details) -> Stored<()> {
    diesel::insert_into(enquiry::table)
        .values((
            enquiry::id.eq(id.as_str()),
            enquiry::shop_id.eq(tx.studio.id.as_str()),
            enquiry::state.eq(EnquiryState::Open.as_str()),
            Columns::of(id.as_str(), details)?,
            CallerColumns::of(details.caller.as_ref()),
            enquiry::version.eq(1_i64),
            enquiry::created_at.eq(tx.now.ms()),
            enquiry::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn update(tx: &mut Tx<'_>, old: &Enquiry, details: &Details) -> Stored<()> {
    diesel::update(rows_of_shop!(enquiry, tx).filter(enquiry::id.eq(old.id.as_str())))
        .set((
            Columns::of(old.id.as_str(), details)?,
            CallerColumns::of(details.caller.as_ref()),
            enquiry::version.eq(old.version + 1),
            enquiry::updated_at.eq(tx.now.ms()),
        ))
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

/// Blanks the caller's details in the customer's enquiries, which refer to the customer instead.
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
