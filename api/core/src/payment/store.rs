//! Rows of payments.

use baywright_domain::id::{CustomerId, InvoiceId, PaymentId};
use baywright_domain::money::Money;
use baywright_domain::payment::{Allocation, Method};
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::BigInt;

use super::usecase::{NewPayment, Payment, Wanted};
use crate::newest_first;
use crate::platform::db::{RowId, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{invoice, payment, payment_part};

#[derive(Queryable, Selectable)]
#[diesel(table_name = payment)]
struct Row {
    id: String,
    customer_id: String,
    method: String,
    received_on: String,
    amount: i64,
    surplus: i64,
    reference: String,
    note: String,
    version: i64,
    created_at: i64,
}

impl Row {
    fn with(self, parts: Vec<(InvoiceId, Money)>) -> Stored<Payment> {
        let row = RowId::of("payment", &self.id);
        Ok(Payment {
            version: self.version,
            customer: self.customer_id.into(),
            method: row.read("method", self.method)?,
            received_on: row.read("received_on", self.received_on)?,
            amount: Money::from_minor(self.amount),
            surplus: Money::from_minor(self.surplus),
            parts,
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

/// The parts of those payments, each with its payment's id, in order.
fn parts(tx: &mut Tx<'_>, payments: &[String]) -> Stored<Vec<(String, InvoiceId, Money)>> {
    let rows: Vec<(String, String, i64)> = rows_of_shop!(payment_part, tx)
        .filter(payment_part::payment_id.eq_any(payments))
        .order((payment_part::payment_id.asc(), payment_part::place.asc()))
        .select((payment_part::payment_id, payment_part::invoice_id, payment_part::amount))
        .load(tx.conn)?;
    Ok(rows
        .into_iter()
        .map(|(payment, invoice, amount)| (payment, invoice.into(), Money::from_minor(amount)))
        .collect())
}

fn complete(tx: &mut Tx<'_>, rows: Vec<Row>) -> Stored<Vec<Payment>> {
    let ids: Vec<String> = rows.iter().map(|row| row.id.clone()).collect();
    let all = parts(tx, &ids)?;
    let of = |id: &str| all.iter().filter(|(payment, ..)| payment == id).map(|(_, i, m)| (i.clone(), *m)).collect();
    rows.into_iter()
        .map(|row| {
            let own = of(&row.id);
            row.with(own)
        })
        .collect()
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &PaymentId, new: &NewPayment, allocation: &Allocation) -> Stored<()> {
    let shop = tx.studio.id.to_string();
    diesel::insert_into(payment::table)
        .values((
            payment::id.eq(id.as_str()),
            payment::shop_id.eq(&shop),
            payment::customer_id.eq(new.customer.as_str()),
            payment::method.eq(new.method.as_str()),
            payment::received_on.eq(new.received_on.to_string()),
            payment::amount.eq(new.amount.minor()),
            payment::surplus.eq(allocation.surplus.minor()),
            payment::reference.eq(&new.reference),
            payment::note.eq(&new.note),
            payment::version.eq(1_i64),
            payment::created_at.eq(tx.now.ms()),
            payment::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    for (place, part) in (0_i32..).zip(&allocation.parts) {
        diesel::insert_into(payment_part::table)
            .values((
                payment_part::payment_id.eq(id.as_str()),
                payment_part::invoice_id.eq(part.invoice.as_str()),
                payment_part::shop_id.eq(&shop),
                payment_part::place.eq(place),
                payment_part::amount.eq(part.used.minor()),
            ))
            .execute(tx.conn)?;
    }
    Ok(())
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

/// The amount that the customer overpaid so far, less what was used of it.
pub(super) fn credit(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<Money> {
    let mine =
        || rows_of_shop!(payment, id = tx.studio.id.to_string()).filter(payment::customer_id.eq(customer.to_string()));
    let (over, used) = (mine(), mine().filter(payment::method.eq(Method::Credit.as_str())));
    let over: i64 = over.select(sql::<BigInt>("CAST(COALESCE(SUM(surplus), 0) AS BIGINT)")).first(tx.conn)?;
    let used: i64 = used.select(sql::<BigInt>("CAST(COALESCE(SUM(amount), 0) AS BIGINT)")).first(tx.conn)?;
    Ok(Money::from_minor(over - used))
}
