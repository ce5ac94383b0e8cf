//! Rows of the register.

use baywright_domain::document::CategoryTotal;
use baywright_domain::id::InvoiceId;
use baywright_domain::money::Money;
use diesel::dsl::max;
use diesel::prelude::*;

use super::usecase::{Entry, IssuedDocument, Wanted};
use crate::newest_first;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{issued_document, issued_tax, number_first};

#[derive(Queryable, Selectable)]
#[diesel(table_name = issued_document)]
struct Row {
    id: String,
    kind: String,
    number: String,
    issued_on: String,
    tax_point: Option<String>,
    customer_id: String,
    invoice_id: Option<String>,
    net: i64,
    tax: i64,
    gross: i64,
    payable: i64,
    digest: String,
    created_at: i64,
}

impl Row {
    fn read(self) -> Stored<IssuedDocument> {
        let row = RowId::of("issued_document", &self.id);
        Ok(IssuedDocument {
            kind: row.read("kind", self.kind)?,
            number: self.number,
            issued_on: row.read("issued_on", self.issued_on)?,
            tax_point: row.read("tax_point", self.tax_point)?,
            customer: self.customer_id.into(),
            invoice: self.invoice_id.map(InvoiceId::new),
            net: Money::from_minor(self.net),
            tax: Money::from_minor(self.tax),
            gross: Money::from_minor(self.gross),
            payable: Money::from_minor(self.payable),
            digest: self.digest,
            created_at: row.read("created_at", self.created_at)?,
            id: self.id,
        })
    }
}

pub(super) fn insert(tx: &mut Tx<'_>, entry: &Entry<'_>) -> Stored<()> {
    diesel::insert_into(issued_document::table)
        .values((
            issued_document::id.eq(entry.id),
            issued_document::shop_id.eq(tx.studio.id.as_str()),
            issued_document::kind.eq(entry.kind.as_str()),
            issued_document::series.eq(entry.number.prefix.as_str()),
            issued_document::year.eq(entry.number.year),
            issued_document::counter.eq(entry.number.counter),
            issued_document::number.eq(&entry.number.text),
            issued_document::issued_on.eq(entry.issued_on.to_string()),
            issued_document::tax_point.eq(entry.tax_point.map(|day| day.to_string())),
            issued_document::customer_id.eq(entry.customer.as_str()),
            issued_document::invoice_id.eq(entry.invoice.map(InvoiceId::as_str)),
            issued_document::net.eq(entry.net.minor()),
            issued_document::tax.eq(entry.tax.minor()),
            issued_document::gross.eq(entry.gross.minor()),
            issued_document::payable.eq(entry.payable.minor()),
            issued_document::digest.eq(entry.digest),
            issued_document::created_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    for (place, row) in (0_i32..).zip(entry.taxes) {
        insert_tax(tx, entry.id, place, row)?;
    }
    Ok(())
}

fn insert_tax(tx: &mut Tx<'_>, document: &str, place: i32, row: &CategoryTotal) -> Stored<()> {
    diesel::insert_into(issued_tax::table)
        .values((
            issued_tax::document_id.eq(document),
            issued_tax::shop_id.eq(tx.studio.id.as_str()),
            issued_tax::place.eq(place),
            issued_tax::category.eq(row.treatment.category().code()),
            issued_tax::rate.eq(row.treatment.rate().to_string()),
            issued_tax::taxable.eq(row.taxable.minor()),
            issued_tax::tax.eq(row.tax.minor()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<IssuedDocument>> {
    let mut mine = rows_of_shop!(issued_document, tx).select(Row::as_select()).into_boxed();
    if !wanted.kinds.is_empty() {
        mine = mine.filter(issued_document::kind.eq_any(wanted.kinds.iter().map(|kind| kind.as_str())));
    }
    if let Some(customer) = &wanted.customer {
        mine = mine.filter(issued_document::customer_id.eq(customer.as_str()));
    }
    if let Some(day) = wanted.from {
        mine = mine.filter(issued_document::issued_on.ge(day.to_string()));
    }
    if let Some(day) = wanted.until {
        mine = mine.filter(issued_document::issued_on.le(day.to_string()));
    }
    let rows: Vec<Row> = newest_first!(mine, issued_document::id, issued_document::created_at, paging, tx.conn);
    rows.into_iter().map(Row::read).collect()
}

/// The counter of the last document in that series and year; `None` if there is none.
pub(super) fn last_counter(tx: &mut Tx<'_>, series: &str, year: i32) -> Stored<Option<i64>> {
    Ok(rows_of_shop!(issued_document, tx)
        .filter(issued_document::series.eq(series))
        .filter(issued_document::year.eq(year))
        .select(max(issued_document::counter))
        .first(tx.conn)?)
}

/// The first number of that series in that year, if it was set.
pub(super) fn first(tx: &mut Tx<'_>, series: &str, year: i32) -> Stored<Option<i64>> {
    Ok(rows_of_shop!(number_first, tx)
        .filter(number_first::prefix.eq(series))
        .filter(number_first::year.eq(year))
        .select(number_first::first)
        .first(tx.conn)
        .optional()?)
}

pub(super) fn put_first(tx: &mut Tx<'_>, series: &str, year: i32, first: i64) -> Stored<()> {
    let mine =
        rows_of_shop!(number_first, tx).filter(number_first::prefix.eq(series)).filter(number_first::year.eq(year));
    diesel::delete(mine).execute(tx.conn)?;
    diesel::insert_into(number_first::table)
        .values((
            number_first::shop_id.eq(tx.studio.id.as_str()),
            number_first::prefix.eq(series),
            number_first::year.eq(year),
            number_first::first.eq(first),
        ))
        .execute(tx.conn)?;
    Ok(())
}
