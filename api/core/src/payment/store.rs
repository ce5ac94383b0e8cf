//! Rows of payments.

pub(super) mod refund;

use baywright_domain::id::{CreditNoteId, CustomerId, InvoiceId, PaymentId};
use baywright_domain::ledger::ReceiptPart;
use baywright_domain::money::Money;
use baywright_domain::payment::Method;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Bool};

use super::usecase::{NewPayment, Payment, PaymentPart, Undone, Wanted};
use crate::newest_first;
use crate::platform::db::{RowId, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{invoice, payment, payment_part, payment_release};

#[derive(Queryable, Selectable)]
#[diesel(table_name = payment)]
struct Row {
    id: String,
    customer_id: String,
    method: String,
    received_on: String,
    amount: i64,
    reference: String,
    note: String,
    version: i64,
    created_at: i64,
    undone_on: Option<String>,
    undo_reason: Option<String>,
    undo_note: Option<String>,
}

impl Row {
    fn with(self, parts: Vec<PaymentPart>) -> Stored<Payment> {
        let row = RowId::of("payment", &self.id);
        let undone = match (row.read("undone_on", self.undone_on)?, row.read("undo_reason", self.undo_reason)?) {
            (Some(on), Some(reason)) => Some(Undone { on, reason, note: self.undo_note.unwrap_or_default() }),
            _ => None,
        };
        Ok(Payment {
            version: self.version,
            customer: self.customer_id.into(),
            method: row.read("method", self.method)?,
            received_on: row.read("received_on", self.received_on)?,
            amount: Money::from_minor(self.amount),
            surplus: Money::from_minor(self.amount) - parts.iter().map(|part| part.used).sum(),
            parts,
            undone,
            reference: self.reference,
            note: self.note,
            created_at: row.read("created_at", self.created_at)?,
            id: self.id.into(),
        })
    }
}

/// Whether a payment of one of those customers settles another customer's invoice.
pub(super) fn is_across(tx: &mut Tx<'_>, customers: &[String]) -> Stored<bool> {
    let across: Option<String> = payment_part::table
        .inner_join(payment::table.on(payment::id.eq(payment_part::payment_id)))
        .inner_join(invoice::table.on(invoice::id.eq(payment_part::invoice_id)))
        .filter(of_shop!(payment_part, tx))
        .filter(payment::customer_id.eq_any(customers.to_vec()))
        .filter(payment::customer_id.ne(invoice::customer_id))
        .select(payment::id)
        .first(tx.conn)
        .optional()?;
    Ok(across.is_some())
}

/// Part of a payment as it was recorded, with its payment's id.
type PartRow = (String, String, i64, i64);

/// What a credit note released: payment, invoice and amount.
type ReleaseRow = (String, String, i64);

/// Parts of those payments as they were recorded, and what credit notes released of them since.
fn parts(tx: &mut Tx<'_>, payments: &[String]) -> Stored<(Vec<PartRow>, Vec<ReleaseRow>)> {
    let rows: Vec<PartRow> = rows_of_shop!(payment_part, tx)
        .filter(payment_part::payment_id.eq_any(payments))
        .order((payment_part::payment_id.asc(), payment_part::place.asc()))
        .select((payment_part::payment_id, payment_part::invoice_id, payment_part::amount, payment_part::recovered))
        .load(tx.conn)?;
    let released = rows_of_shop!(payment_release, tx)
        .filter(payment_release::payment_id.eq_any(payments))
        .order((payment_release::payment_id.asc(), payment_release::credit_note_id.asc()))
        .select((payment_release::payment_id, payment_release::invoice_id, payment_release::amount))
        .load(tx.conn)?;
    Ok((rows, released))
}

fn complete(tx: &mut Tx<'_>, rows: Vec<Row>) -> Stored<Vec<Payment>> {
    let ids: Vec<String> = rows.iter().map(|row| row.id.clone()).collect();
    let (all, released) = parts(tx, &ids)?;
    let now = |(payment, invoice, amount, recovered): &PartRow| {
        let gone = released.iter().filter(|(of, by, _)| of == payment && by == invoice);
        let used = amount - gone.map(|(.., amount)| amount).sum::<i64>();
        let (used, recovered) = (Money::from_minor(used), Money::from_minor((*recovered).min(used)));
        PaymentPart { invoice: InvoiceId::new(invoice.as_str()), used, recovered }
    };
    let mut payments = Vec::new();
    for row in rows {
        let own = all.iter().filter(|(payment, ..)| *payment == row.id).map(now).collect();
        payments.push(row.with(own)?);
    }
    Ok(payments)
}

pub(super) fn insert(
    tx: &mut Tx<'_>,
    id: &PaymentId,
    new: &NewPayment,
    parts: &[ReceiptPart],
    surplus: Money,
) -> Stored<()> {
    let shop = tx.studio.id.to_string();
    diesel::insert_into(payment::table)
        .values((
            payment::id.eq(id.as_str()),
            payment::shop_id.eq(&shop),
            payment::customer_id.eq(new.customer.as_str()),
            payment::method.eq(new.method.as_str()),
            payment::received_on.eq(new.received_on.to_string()),
            payment::amount.eq(new.amount.minor()),
            payment::surplus.eq(surplus.minor()),
            payment::reference.eq(&new.reference),
            payment::note.eq(&new.note),
            payment::version.eq(1_i64),
            payment::created_at.eq(tx.now.ms()),
            payment::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    for (place, part) in (0_i32..).zip(parts) {
        diesel::insert_into(payment_part::table)
            .values((
                payment_part::payment_id.eq(id.as_str()),
                payment_part::invoice_id.eq(part.invoice.as_str()),
                payment_part::shop_id.eq(&shop),
                payment_part::place.eq(place),
                payment_part::amount.eq(part.used.minor()),
                payment_part::recovered.eq(part.recovered.minor()),
            ))
            .execute(tx.conn)?;
    }
    Ok(())
}

/// Stores that a payment no longer counts.
pub(super) fn undo(tx: &mut Tx<'_>, old: &Payment, undone: &Undone) -> Stored<()> {
    diesel::update(rows_of_shop!(payment, tx).filter(payment::id.eq(old.id.as_str())))
        .set((
            payment::undone_on.eq(undone.on.to_string()),
            payment::undo_reason.eq(undone.reason.as_str()),
            payment::undo_note.eq(&undone.note),
            payment::version.eq(old.version + 1),
            payment::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Stores that a credit note released part of a payment.
pub(super) fn release(
    tx: &mut Tx<'_>,
    credit: &CreditNoteId,
    id: &PaymentId,
    invoice: &InvoiceId,
    amount: Money,
) -> Stored<()> {
    diesel::insert_into(payment_release::table)
        .values((
            payment_release::credit_note_id.eq(credit.as_str()),
            payment_release::payment_id.eq(id.as_str()),
            payment_release::invoice_id.eq(invoice.as_str()),
            payment_release::shop_id.eq(tx.studio.id.as_str()),
            payment_release::amount.eq(amount.minor()),
        ))
        .execute(tx.conn)?;
    diesel::update(rows_of_shop!(payment, tx).filter(payment::id.eq(id.as_str())))
        .set((payment::version.eq(payment::version + 1_i64), payment::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

/// The payments that count and of which an invoice uses a part.
pub(super) fn using(tx: &mut Tx<'_>, invoice: &InvoiceId) -> Stored<Vec<Payment>> {
    let shop = tx.studio.id.to_string();
    let paying = rows_of_shop!(payment_part, id = shop.clone())
        .filter(payment_part::invoice_id.eq(invoice.as_str()))
        .select(payment_part::payment_id);
    let rows: Vec<Row> = rows_of_shop!(payment, id = shop)
        .filter(payment::id.eq_any(paying))
        .filter(payment::undone_on.is_null())
        .order(payment::id.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    complete(tx, rows)
}

pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Payment>> {
    let shop = tx.studio.id.to_string();
    let mut mine = rows_of_shop!(payment, id = shop.clone()).select(Row::as_select()).into_boxed();
    if let Some(customer) = &wanted.customer {
        mine = mine.filter(payment::customer_id.eq(customer.as_str()));
    }
    if let Some(invoice) = &wanted.invoice {
        let paying = rows_of_shop!(payment_part, id = shop)
            .filter(payment_part::invoice_id.eq(invoice.as_str()))
            .select(payment_part::payment_id);
        mine = mine.filter(payment::id.eq_any(paying));
    }
    let rows: Vec<Row> = newest_first!(mine, payment::id, payment::created_at, paging, tx.conn);
    complete(tx, rows)
}

pub(super) fn find(tx: &mut Tx<'_>, id: &PaymentId) -> Stored<Option<Payment>> {
    let row: Option<Row> = rows_of_shop!(payment, tx)
        .filter(payment::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    Ok(complete(tx, row.into_iter().collect())?.into_iter().next())
}

/// Money that came in by payments that count, what invoices use of all payments, and what was given back, of one
/// customer or of all.
pub(super) fn flows(tx: &mut Tx<'_>, customer: Option<&CustomerId>) -> Stored<[Money; 3]> {
    let shop = tx.studio.id.to_string();
    let (theirs, all) = (customer.map(ToString::to_string).unwrap_or_default(), customer.is_none());
    let mine = || {
        rows_of_shop!(payment, id = shop.clone())
            .filter(payment::undone_on.is_null())
            .filter(payment::customer_id.eq(theirs.clone()).or(all.into_sql::<Bool>()))
    };
    let sum = "CAST(COALESCE(SUM(amount), 0) AS BIGINT)";
    let came: i64 =
        mine().filter(payment::method.ne(Method::Credit.as_str())).select(sql::<BigInt>(sum)).first(tx.conn)?;
    let used: i64 = rows_of_shop!(payment_part, id = shop.clone())
        .filter(payment_part::payment_id.eq_any(mine().select(payment::id)))
        .select(sql::<BigInt>(sum))
        .first(tx.conn)?;
    let released: i64 = rows_of_shop!(payment_release, id = shop.clone())
        .filter(payment_release::payment_id.eq_any(mine().select(payment::id)))
        .select(sql::<BigInt>(sum))
        .first(tx.conn)?;
    Ok([Money::from_minor(came), Money::from_minor(used - released), refund::given_back(tx, customer)?])
}

/// The customer's credit: money that came in, less what invoices use of it and what was given back. A payment that was
/// undone, or whose part a credit note released, does not count there.
pub(super) fn credit(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<Money> {
    let [came, used, given_back] = flows(tx, Some(customer))?;
    Ok(came - used - given_back)
}
