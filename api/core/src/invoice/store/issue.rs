//! Rows of invoices that get their number.

use baywright_domain::document::Totals;
use baywright_domain::id::InvoiceId;
use baywright_domain::invoice::InvoiceKind;
use baywright_domain::ledger::Item;
use chrono::NaiveDate;
use diesel::dsl::max;
use diesel::prelude::*;

use crate::invoice::usecase::{Invoice, NewOpening};
use crate::platform::db::rows_of_shop;
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::register::usecase::NextNumber;
use crate::schema::invoice;

/// Series of invoices that other programs issued: no prefix of the shop can have this name.
const EARLIER: &str = "-";

/// Columns that issuing fills.
pub(in crate::invoice) struct Seal<'a> {
    pub(in crate::invoice) number: &'a NextNumber,
    pub(in crate::invoice) buyer_name: &'a str,
    pub(in crate::invoice) issued_on: NaiveDate,
    pub(in crate::invoice) due_on: NaiveDate,
    pub(in crate::invoice) text: &'a str,
    pub(in crate::invoice) digest: &'a str,
}

pub(in crate::invoice) fn issue(tx: &mut Tx<'_>, old: &Invoice, item: Item, seal: &Seal<'_>) -> Stored<()> {
    let mine = rows_of_shop!(invoice, tx).filter(invoice::id.eq(old.id.as_str()));
    diesel::update(mine)
        .set((
            invoice::state.eq(item.state().as_str()),
            invoice::open.eq(item.open().minor()),
            invoice::paid.eq(item.paid.minor()),
            invoice::series.eq(seal.number.prefix.as_str()),
            invoice::year.eq(seal.number.year),
            invoice::counter.eq(seal.number.counter),
            invoice::number.eq(&seal.number.text),
            invoice::buyer_name.eq(seal.buyer_name),
            invoice::issued_on.eq(seal.issued_on.to_string()),
            invoice::due_on.eq(seal.due_on.to_string()),
            invoice::document.eq(seal.text),
            invoice::digest.eq(seal.digest),
            invoice::issued_at.eq(tx.now.ms()),
            invoice::version.eq(old.version + 1),
            invoice::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Adds an invoice that another program issued, with its sealed text and digest.
pub(in crate::invoice) fn insert_opening(
    tx: &mut Tx<'_>,
    id: &InvoiceId,
    new: &NewOpening,
    buyer_name: &str,
    totals: &Totals,
    item: Item,
    (text, digest): (&str, &str),
) -> Stored<()> {
    let last: Option<i64> =
        rows_of_shop!(invoice, tx).filter(invoice::series.eq(EARLIER)).select(max(invoice::counter)).first(tx.conn)?;
    diesel::insert_into(invoice::table)
        .values((
            (
                invoice::id.eq(id.as_str()),
                invoice::shop_id.eq(tx.studio.id.as_str()),
                invoice::customer_id.eq(new.customer.as_str()),
                invoice::kind.eq(InvoiceKind::Opening.as_str()),
                invoice::follows_quote.eq(false),
                invoice::state.eq(item.state().as_str()),
                invoice::series.eq(EARLIER),
                invoice::year.eq(0),
                invoice::counter.eq(last.unwrap_or(0) + 1),
                invoice::number.eq(&new.number),
                invoice::buyer_name.eq(buyer_name),
                invoice::issued_on.eq(new.issued_on.to_string()),
                invoice::due_on.eq(new.due_on.to_string()),
                invoice::issued_at.eq(tx.now.ms()),
            ),
            (
                invoice::net.eq(totals.net.minor()),
                invoice::tax.eq(totals.tax.minor()),
                invoice::payable.eq(totals.payable.minor()),
                invoice::open.eq(item.open().minor()),
                invoice::paid.eq(0_i64),
                invoice::written_off.eq(0_i64),
                invoice::document.eq(text),
                invoice::digest.eq(digest),
                invoice::version.eq(1_i64),
                invoice::created_at.eq(tx.now.ms()),
                invoice::updated_at.eq(tx.now.ms()),
            ),
        ))
        .execute(tx.conn)?;
    Ok(())
}
