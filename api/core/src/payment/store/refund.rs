//! Rows of refunds.

use baywright_domain::id::{CustomerId, RefundId};
use baywright_domain::money::Money;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::BigInt;

use crate::newest_first;
use crate::payment::usecase::{NewRefund, Refund, RefundUndone, RefundsWanted};
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::refund;

#[derive(Queryable, Selectable)]
#[diesel(table_name = refund)]
struct Row {
    id: String,
    customer_id: String,
    method: String,
    paid_on: String,
    amount: i64,
    reference: String,
    reason: String,
    number: String,
    digest: String,
    undone_on: Option<String>,
    undo_note: Option<String>,
    version: i64,
    created_at: i64,
    updated_at: i64,
    document: String,
}

impl Row {
    fn read(self) -> Stored<Refund> {
        let row = RowId::of("refund", &self.id);
        let undone = match (row.read("undone_on", self.undone_on)?, self.undo_note) {
            (Some(on), Some(note)) => Some(RefundUndone { on, note }),
            _ => None,
        };
        Ok(Refund {
            version: self.version,
            said: NewRefund {
                customer: self.customer_id.into(),
                method: row.read("method", self.method)?,
                paid_on: row.read("paid_on", self.paid_on)?,
                amount: Money::from_minor(self.amount),
                reference: self.reference,
                reason: self.reason,
            },
            number: self.number,
            text: self.document,
            digest: self.digest,
            undone,
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            id: self.id.into(),
        })
    }
}

pub(in crate::payment) fn insert(
    tx: &mut Tx<'_>,
    id: &RefundId,
    new: &NewRefund,
    number: &str,
    text: &str,
    digest: &str,
) -> Stored<()> {
    diesel::insert_into(refund::table)
        .values((
            refund::id.eq(id.as_str()),
            refund::shop_id.eq(tx.studio.id.as_str()),
            refund::customer_id.eq(new.customer.as_str()),
            refund::method.eq(new.method.as_str()),
            refund::paid_on.eq(new.paid_on.to_string()),
            refund::amount.eq(new.amount.minor()),
            refund::reference.eq(&new.reference),
            refund::reason.eq(&new.reason),
            refund::number.eq(number),
            refund::document.eq(text),
            refund::digest.eq(digest),
            refund::version.eq(1_i64),
            refund::created_at.eq(tx.now.ms()),
            refund::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::payment) fn undo(tx: &mut Tx<'_>, old: &Refund, undone: &RefundUndone) -> Stored<()> {
    diesel::update(rows_of_shop!(refund, tx).filter(refund::id.eq(old.id.as_str())))
        .set((
            refund::undone_on.eq(undone.on.to_string()),
            refund::undo_note.eq(&undone.note),
            refund::version.eq(old.version + 1),
            refund::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::payment) fn page(tx: &mut Tx<'_>, wanted: &RefundsWanted, paging: &Paging) -> Stored<Vec<Refund>> {
    let mut mine = rows_of_shop!(refund, tx).select(Row::as_select()).into_boxed();
    if let Some(customer) = &wanted.customer {
        mine = mine.filter(refund::customer_id.eq(customer.as_str()));
    }
    let rows: Vec<Row> = newest_first!(mine, refund::id, refund::created_at, paging, tx.conn);
    rows.into_iter().map(Row::read).collect()
}

pub(in crate::payment) fn find(tx: &mut Tx<'_>, id: &RefundId) -> Stored<Option<Refund>> {
    let row: Option<Row> = rows_of_shop!(refund, tx)
        .filter(refund::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

/// Amount that was given back so far, to one customer or to all.
pub(super) fn given_back(tx: &mut Tx<'_>, customer: Option<&CustomerId>) -> Stored<Money> {
    let mut mine = rows_of_shop!(refund, tx).filter(refund::undone_on.is_null()).into_boxed();
    if let Some(customer) = customer {
        mine = mine.filter(refund::customer_id.eq(customer.as_str()));
    }
    let amount: i64 = mine.select(sql::<BigInt>("CAST(COALESCE(SUM(amount), 0) AS BIGINT)")).first(tx.conn)?;
    Ok(Money::from_minor(amount))
}

/// Id, receipt and digest of up to `most` refunds after that id, in order of id.
pub(in crate::payment) fn sealed(tx: &mut Tx<'_>, after: &str, most: i64) -> Stored<Vec<(String, String, String)>> {
    Ok(rows_of_shop!(refund, tx)
        .filter(refund::id.gt(after))
        .order(refund::id.asc())
        .limit(most)
        .select((refund::id, refund::document, refund::digest))
        .load(tx.conn)?)
}
