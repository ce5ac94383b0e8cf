//! Rows of credit notes.

use baywright_domain::id::{CreditNoteId, CustomerId, InvoiceId};
use baywright_domain::money::Money;
use diesel::prelude::*;

use crate::invoice::usecase::{CreditNote, CreditsWanted};
use crate::newest_first;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{credit_line, credit_note};

#[derive(Queryable, Selectable)]
#[diesel(table_name = credit_note)]
struct Row {
    id: String,
    invoice_id: String,
    customer_id: String,
    number: String,
    buyer_name: String,
    issued_on: String,
    payable: i64,
    takes_all: bool,
    reason: String,
    digest: String,
    mailed_at: Option<i64>,
    version: i64,
    created_at: i64,
    updated_at: i64,
    document: String,
}

impl Row {
    fn with(self, lines: Vec<(usize, Money)>) -> Stored<CreditNote> {
        let row = RowId::of("credit_note", &self.id);
        Ok(CreditNote {
            version: self.version,
            invoice: self.invoice_id.into(),
            customer: self.customer_id.into(),
            number: self.number,
            buyer_name: self.buyer_name,
            issued_on: row.read("issued_on", self.issued_on)?,
            payable: Money::from_minor(self.payable),
            takes_all: self.takes_all,
            reason: self.reason,
            lines,
            digest: self.digest,
            mailed_at: row.read("mailed_at", self.mailed_at)?,
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            text: self.document,
            id: self.id.into(),
        })
    }
}

/// Adds the lines that each of the credit notes credits.
fn complete(tx: &mut Tx<'_>, rows: Vec<Row>) -> Stored<Vec<CreditNote>> {
    let ids: Vec<String> = rows.iter().map(|row| row.id.clone()).collect();
    let lines: Vec<(String, i32, i64)> = rows_of_shop!(credit_line, tx)
        .filter(credit_line::credit_note_id.eq_any(ids))
        .order((credit_line::credit_note_id.asc(), credit_line::line.asc()))
        .select((credit_line::credit_note_id, credit_line::line, credit_line::amount))
        .load(tx.conn)?;
    rows.into_iter()
        .map(|row| {
            let own = lines.iter().filter(|(id, ..)| *id == row.id);
            let own = own.map(|&(_, line, amount)| {
                let place = RowId::of("credit_line", &row.id).read("line", line)?;
                Ok((place, Money::from_minor(amount)))
            });
            let own = own.collect::<Stored<Vec<(usize, Money)>>>()?;
            row.with(own)
        })
        .collect()
}

pub(in crate::invoice) fn insert(tx: &mut Tx<'_>, new: &CreditNote) -> Stored<()> {
    let shop = tx.studio.id.to_string();
    diesel::insert_into(credit_note::table)
        .values((
            credit_note::id.eq(new.id.as_str()),
            credit_note::shop_id.eq(&shop),
            credit_note::invoice_id.eq(new.invoice.as_str()),
            credit_note::customer_id.eq(new.customer.as_str()),
            credit_note::number.eq(&new.number),
            credit_note::buyer_name.eq(&new.buyer_name),
            credit_note::issued_on.eq(new.issued_on.to_string()),
            credit_note::payable.eq(new.payable.minor()),
            credit_note::takes_all.eq(new.takes_all),
            credit_note::reason.eq(&new.reason),
            credit_note::document.eq(&new.text),
            credit_note::digest.eq(&new.digest),
            credit_note::version.eq(1_i64),
            credit_note::created_at.eq(tx.now.ms()),
            credit_note::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    for (line, amount) in &new.lines {
        let line = RowId::of("credit_line", new.id.as_str()).write("line", line)?;
        diesel::insert_into(credit_line::table)
            .values((
                credit_line::credit_note_id.eq(new.id.as_str()),
                credit_line::shop_id.eq(&shop),
                credit_line::line.eq(line),
                credit_line::amount.eq(amount.minor()),
            ))
            .execute(tx.conn)?;
    }
    Ok(())
}

pub(in crate::invoice) fn mailed(tx: &mut Tx<'_>, old: &CreditNote) -> Stored<()> {
    diesel::update(rows_of_shop!(credit_note, tx).filter(credit_note::id.eq(old.id.as_str())))
        .set((
            credit_note::mailed_at.eq(tx.now.ms()),
            credit_note::version.eq(old.version + 1),
            credit_note::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::invoice) fn page(tx: &mut Tx<'_>, wanted: &CreditsWanted, paging: &Paging) -> Stored<Vec<CreditNote>> {
    let mut mine = rows_of_shop!(credit_note, tx).select(Row::as_select()).into_boxed();
    if let Some(customer) = wanted.customer.as_ref().map(CustomerId::as_str) {
        mine = mine.filter(credit_note::customer_id.eq(customer));
    }
    if let Some(invoice) = wanted.invoice.as_ref().map(InvoiceId::as_str) {
        mine = mine.filter(credit_note::invoice_id.eq(invoice));
    }
    let rows: Vec<Row> = newest_first!(mine, credit_note::id, credit_note::created_at, paging, tx.conn);
    complete(tx, rows)
}

pub(in crate::invoice) fn find(tx: &mut Tx<'_>, id: &CreditNoteId) -> Stored<Option<CreditNote>> {
    let row: Option<Row> = rows_of_shop!(credit_note, tx)
        .filter(credit_note::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    Ok(complete(tx, row.into_iter().collect())?.pop())
}

/// The credit notes of an invoice, first one first.
pub(in crate::invoice) fn of_invoice(tx: &mut Tx<'_>, invoice: &InvoiceId) -> Stored<Vec<CreditNote>> {
    let rows: Vec<Row> = rows_of_shop!(credit_note, tx)
        .filter(credit_note::invoice_id.eq(invoice.as_str()))
        .order(credit_note::id.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    complete(tx, rows)
}

/// Id, document and digest of up to `most` credit notes after that id, in order of id.
pub(in crate::invoice) fn sealed(tx: &mut Tx<'_>, after: &str, most: i64) -> Stored<Vec<(String, String, String)>> {
    Ok(rows_of_shop!(credit_note, tx)
        .filter(credit_note::id.gt(after))
        .order(credit_note::id.asc())
        .limit(most)
        .select((credit_note::id, credit_note::document, credit_note::digest))
        .load(tx.conn)?)
}
