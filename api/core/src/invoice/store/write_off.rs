//! Rows of write-offs.

use baywright_domain::id::InvoiceId;
use baywright_domain::money::Money;
use diesel::prelude::*;

use crate::invoice::usecase::WrittenOff;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::write_off;

#[derive(Queryable, Selectable)]
#[diesel(table_name = write_off)]
struct Row {
    id: String,
    invoice_id: String,
    cause: String,
    on_day: String,
    amount: i64,
    reason: String,
    created_at: i64,
}

pub(in crate::invoice) fn insert(tx: &mut Tx<'_>, new: &WrittenOff) -> Stored<()> {
    diesel::insert_into(write_off::table)
        .values((
            write_off::id.eq(new.id.as_str()),
            write_off::shop_id.eq(tx.studio.id.as_str()),
            write_off::invoice_id.eq(new.invoice.as_str()),
            write_off::cause.eq(new.cause.as_str()),
            write_off::on_day.eq(new.on.to_string()),
            write_off::amount.eq(new.amount.minor()),
            write_off::reason.eq(&new.reason),
            write_off::created_at.eq(new.created_at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Write-offs of an invoice and their reversals, in the order in which they were made.
pub(in crate::invoice) fn of_invoice(tx: &mut Tx<'_>, invoice: &InvoiceId) -> Stored<Vec<WrittenOff>> {
    let rows: Vec<Row> = rows_of_shop!(write_off, tx)
        .filter(write_off::invoice_id.eq(invoice.as_str()))
        .order((write_off::created_at.asc(), write_off::id.asc()))
        .select(Row::as_select())
        .load(tx.conn)?;
    let read = |row: Row| {
        let at = RowId::of("write_off", &row.id);
        Ok(WrittenOff {
            invoice: row.invoice_id.into(),
            cause: at.read("cause", row.cause)?,
            on: at.read("on_day", row.on_day)?,
            amount: Money::from_minor(row.amount),
            reason: row.reason,
            created_at: at.read("created_at", row.created_at)?,
            id: row.id.into(),
        })
    };
    rows.into_iter().map(read).collect()
}
