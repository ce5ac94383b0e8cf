//! Rows of invoices.

mod claim;
pub(super) mod credit;
mod issue;
mod write_off;

use baywright_domain::document::Totals;
use baywright_domain::id::{CustomerId, InvoiceId, QuoteId};
use baywright_domain::invoice::{Account, InvoiceKind, State};
use baywright_domain::ledger::Item;
use baywright_domain::money::Money;
use chrono::NaiveDate;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::BigInt;

use super::usecase::{Invoice, Source, Wanted};
use crate::newest_first;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::invoice;

pub(super) use claim::{claim, claimed_by, claims_of, release};
pub(super) use issue::{Seal, insert_opening, issue};
pub(super) use write_off::{insert as insert_write_off, of_invoice as write_offs};

/// States with an unpaid amount.
const OPEN: [&str; 2] = [State::Issued.as_str(), State::PartPaid.as_str()];

#[derive(Queryable, Selectable)]
#[diesel(table_name = invoice)]
struct Row {
    id: String,
    customer_id: String,
    quote_id: Option<String>,
    state: String,
    number: Option<String>,
    buyer_name: String,
    issued_on: Option<String>,
    due_on: Option<String>,
    payable: i64,
    open: i64,
    paid: i64,
    written_off: i64,
    document: String,
    digest: Option<String>,
    mailed_at: Option<i64>,
    version: i64,
    created_at: i64,
    updated_at: i64,
    kind: String,
    credited: i64,
    recovered: i64,
    disputed_on: Option<String>,
    follows_quote: bool,
}

impl Row {
    fn read(self) -> Stored<Invoice> {
        let row = RowId::of("invoice", &self.id);
        let state: State = row.read("state", self.state)?;
        Ok(Invoice {
            version: self.version,
            customer: self.customer_id.into(),
            quote: self.quote_id.map(QuoteId::new),
            account: Account { state, open: Money::from_minor(self.open), paid: Money::from_minor(self.paid) },
            kind: row.read("kind", self.kind)?,
            credited: Money::from_minor(self.credited),
            recovered: Money::from_minor(self.recovered),
            disputed_on: row.read("disputed_on", self.disputed_on)?,
            follows_quote: self.follows_quote,
            written_off: Money::from_minor(self.written_off),
            number: self.number,
            buyer_name: self.buyer_name,
            issued_on: row.read("issued_on", self.issued_on)?,
            due_on: row.read("due_on", self.due_on)?,
            payable: Money::from_minor(self.payable),
            text: self.document,
            digest: self.digest,
            mailed_at: row.read("mailed_at", self.mailed_at)?,
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            id: self.id.into(),
        })
    }
}

pub(super) fn insert(
    tx: &mut Tx<'_>,
    id: &InvoiceId,
    source: &Source,
    buyer_name: &str,
    totals: &Totals,
    text: &str,
) -> Stored<()> {
    diesel::insert_into(invoice::table)
        .values((
            invoice::id.eq(id.as_str()),
            invoice::shop_id.eq(tx.studio.id.as_str()),
            invoice::customer_id.eq(source.customer.as_str()),
            invoice::quote_id.eq(source.quote.as_ref().map(|(quote, _)| quote.as_str())),
            invoice::state.eq(State::Draft.as_str()),
            invoice::series.eq(""),
            invoice::year.eq(0),
            invoice::buyer_name.eq(buyer_name),
            invoice::net.eq(totals.net.minor()),
            invoice::tax.eq(totals.tax.minor()),
            invoice::payable.eq(totals.payable.minor()),
            invoice::open.eq(0_i64),
            invoice::paid.eq(0_i64),
            invoice::written_off.eq(0_i64),
            invoice::document.eq(text),
            invoice::kind.eq(source.kind.as_str()),
            invoice::follows_quote.eq(source.follows_quote),
            invoice::version.eq(1_i64),
            invoice::created_at.eq(tx.now.ms()),
            invoice::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn rewrite(
    tx: &mut Tx<'_>,
    old: &Invoice,
    source: &Source,
    buyer_name: &str,
    totals: &Totals,
    text: &str,
) -> Stored<()> {
    let mine = rows_of_shop!(invoice, tx).filter(invoice::id.eq(old.id.as_str()));
    diesel::update(mine)
        .set((
            invoice::buyer_name.eq(buyer_name),
            invoice::net.eq(totals.net.minor()),
            invoice::tax.eq(totals.tax.minor()),
            invoice::payable.eq(totals.payable.minor()),
            invoice::follows_quote.eq(source.follows_quote),
            invoice::document.eq(text),
            invoice::version.eq(old.version + 1),
            invoice::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Invoice>> {
    let mut mine = rows_of_shop!(invoice, tx).select(Row::as_select()).into_boxed();
    if !wanted.states.is_empty() {
        mine = mine.filter(invoice::state.eq_any(wanted.states.iter().map(|state| state.as_str())));
    }
    if !wanted.kinds.is_empty() {
        mine = mine.filter(invoice::kind.eq_any(wanted.kinds.iter().map(|kind| kind.as_str())));
    }
    if let Some(customer) = &wanted.customer {
        mine = mine.filter(invoice::customer_id.eq(customer.as_str()));
    }
    if let Some(quote) = &wanted.quote {
        mine = mine.filter(invoice::quote_id.eq(quote.as_str()));
    }
    if let Some(number) = &wanted.number {
        mine = mine.filter(invoice::number.eq(number));
    }
    if let Some(day) = wanted.due_before {
        mine = mine.filter(invoice::state.eq_any(OPEN)).filter(invoice::open.gt(0));
        mine = mine.filter(invoice::due_on.lt(day.to_string()));
    }
    let rows: Vec<Row> = newest_first!(mine, invoice::id, invoice::created_at, paging, tx.conn);
    rows.into_iter().map(Row::read).collect()
}

/// The issued invoice that bills the work of a quote: deposit invoices and credited ones do not.
pub(super) fn issued_of(tx: &mut Tx<'_>, quote: &QuoteId) -> Stored<Option<Invoice>> {
    let open = [State::Draft, State::Credited].map(State::as_str);
    let row: Option<Row> = rows_of_shop!(invoice, tx)
        .filter(invoice::quote_id.eq(quote.as_str()))
        .filter(invoice::kind.eq(InvoiceKind::Final.as_str()))
        .filter(invoice::state.ne_all(open))
        .order(invoice::id.desc())
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

/// The issued deposit invoices of a quote that are not credited in full, first one first.
pub(super) fn deposits_of(tx: &mut Tx<'_>, quote: &QuoteId) -> Stored<Vec<Invoice>> {
    let rows: Vec<Row> = rows_of_shop!(invoice, tx)
        .filter(invoice::quote_id.eq(quote.as_str()))
        .filter(invoice::kind.eq(InvoiceKind::Deposit.as_str()))
        .filter(invoice::state.ne_all([State::Draft, State::Credited].map(State::as_str)))
        .order(invoice::id.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

pub(super) fn find(tx: &mut Tx<'_>, id: &InvoiceId) -> Stored<Option<Invoice>> {
    let row: Option<Row> = rows_of_shop!(invoice, tx)
        .filter(invoice::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

/// Stores the amounts of an issued invoice, and the state that follows from them.
pub(super) fn set(tx: &mut Tx<'_>, old: &Invoice, item: Item) -> Stored<()> {
    let mine = rows_of_shop!(invoice, tx).filter(invoice::id.eq(old.id.as_str()));
    diesel::update(mine)
        .set((
            invoice::state.eq(item.state().as_str()),
            invoice::open.eq(item.open().minor()),
            invoice::paid.eq(item.paid.minor()),
            invoice::credited.eq(item.credited.minor()),
            invoice::recovered.eq(item.recovered.minor()),
            invoice::written_off.eq(item.written_off.minor()),
            invoice::disputed_on.eq(item.disputed_since.map(|day| day.to_string())),
            invoice::version.eq(old.version + 1),
            invoice::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Deletes a draft; the database refuses to delete an issued invoice.
pub(super) fn discard(tx: &mut Tx<'_>, id: &InvoiceId) -> Stored<()> {
    release(tx, id)?;
    diesel::delete(rows_of_shop!(invoice, tx).filter(invoice::id.eq(id.as_str()))).execute(tx.conn)?;
    Ok(())
}

pub(super) fn mailed(tx: &mut Tx<'_>, old: &Invoice) -> Stored<()> {
    let mine = rows_of_shop!(invoice, tx).filter(invoice::id.eq(old.id.as_str()));
    diesel::update(mine)
        .set((
            invoice::mailed_at.eq(tx.now.ms()),
            invoice::version.eq(old.version + 1),
            invoice::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn open_of(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<Vec<Invoice>> {
    let rows: Vec<Row> = rows_of_shop!(invoice, tx)
        .filter(invoice::customer_id.eq(customer.as_str()))
        .filter(invoice::state.eq_any(OPEN))
        .filter(invoice::open.gt(0))
        .order((invoice::due_on.asc(), invoice::id.asc()))
        .select(Row::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

/// Sums of all issued invoices, of one customer or of all: billed, credited, unpaid and written-off amount.
pub(super) fn sums(tx: &mut Tx<'_>, customer: Option<&CustomerId>) -> Stored<[Money; 4]> {
    let mut mine = rows_of_shop!(invoice, tx).filter(invoice::state.ne(State::Draft.as_str())).into_boxed();
    if let Some(customer) = customer {
        mine = mine.filter(invoice::customer_id.eq(customer.as_str()));
    }
    let sum = |column: &str| sql::<BigInt>(&format!("CAST(COALESCE(SUM({column}), 0) AS BIGINT)"));
    let row: (i64, i64, i64, i64) =
        mine.select((sum("payable"), sum("credited"), sum("open"), sum("written_off"))).first(tx.conn)?;
    Ok([row.0, row.1, row.2, row.3].map(Money::from_minor))
}

pub(super) fn overdue(tx: &mut Tx<'_>, today: NaiveDate, after: Option<&Invoice>, limit: i64) -> Stored<Vec<Invoice>> {
    let mut mine = rows_of_shop!(invoice, tx).select(Row::as_select()).into_boxed();
    mine = mine.filter(invoice::state.eq_any(OPEN)).filter(invoice::open.gt(0));
    mine = mine.filter(invoice::due_on.lt(today.to_string()));
    if let Some((due, id)) = after.and_then(|last| Some((last.due_on?.to_string(), last.id.to_string()))) {
        mine = mine.filter(invoice::due_on.gt(due.clone()).or(invoice::due_on.eq(due).and(invoice::id.gt(id))));
    }
    let rows: Vec<Row> = mine.order((invoice::due_on.asc(), invoice::id.asc())).limit(limit).load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

/// Id, document and digest of issued invoices after that id, in order of id.
pub(super) fn sealed(tx: &mut Tx<'_>, after: &str, most: i64) -> Stored<Vec<(String, String, String)>> {
    Ok(rows_of_shop!(invoice, tx)
        .filter(invoice::digest.is_not_null())
        .filter(invoice::id.gt(after))
        .order(invoice::id.asc())
        .limit(most)
        .select((invoice::id, invoice::document, invoice::digest.assume_not_null()))
        .load(tx.conn)?)
}

/// Stores a draft with the customer's data removed.
pub(super) fn blank_draft(tx: &mut Tx<'_>, old: &Invoice, buyer_name: &str, text: &str) -> Stored<()> {
    let mine = rows_of_shop!(invoice, tx).filter(invoice::id.eq(old.id.as_str()));
    diesel::update(mine)
        .set((
            invoice::buyer_name.eq(buyer_name),
            invoice::document.eq(text),
            invoice::version.eq(old.version + 1),
            invoice::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
