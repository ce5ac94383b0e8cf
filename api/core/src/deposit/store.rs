//! Deposits that were noted on bookings.

use baywright_domain::invoice::{InvoiceKind, State};
use baywright_domain::money::Money;
use diesel::prelude::*;

use super::usecase::Noted;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{booking, invoice};

/// Maximum number of deposits in the list.
const MOST: i64 = 200;

/// A row: id, quote, customer, deposit and the time when it was noted.
type NotedRow = (String, String, String, Option<i64>, Option<i64>);

/// Bookings whose deposit was noted as received although their quote has no deposit invoice, the last one first.
pub(super) fn noted(tx: &mut Tx<'_>) -> Stored<Vec<Noted>> {
    let shop = tx.studio.id.as_str();
    let invoiced = rows_of_shop!(invoice, id = shop)
        .filter(invoice::kind.eq(InvoiceKind::Deposit.as_str()))
        .filter(invoice::state.ne(State::Draft.as_str()))
        .filter(invoice::quote_id.is_not_null())
        .select(invoice::quote_id.assume_not_null());
    let rows: Vec<NotedRow> = rows_of_shop!(booking, id = shop)
        .filter(booking::deposit_received_at.is_not_null())
        .filter(booking::quote_id.ne_all(invoiced))
        .order((booking::deposit_received_at.desc(), booking::id.desc()))
        .limit(MOST)
        .select((booking::id, booking::quote_id, booking::customer_id, booking::deposit, booking::deposit_received_at))
        .load(tx.conn)?;
    let read = |(id, quote, customer, deposit, noted_at): NotedRow| {
        let row = RowId::of("booking", &id);
        Ok(Noted {
            quote: quote.into(),
            customer: customer.into(),
            amount: Money::from_minor(deposit.unwrap_or_default()),
            noted_at: row.read("deposit_received_at", row.required("deposit_received_at", noted_at)?)?,
            booking: id.into(),
        })
    };
    rows.into_iter().map(read).collect()
}
