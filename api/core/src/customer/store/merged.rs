//! Records that were merged into others.

use baywright_domain::id::CustomerId;
use diesel::prelude::*;

use super::row::Row;
use super::whole;
use crate::customer::usecase::Customer;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::customer;

/// Records that were merged into a customer, oldest first.
pub(in super::super) fn merged_into(tx: &mut Tx<'_>, kept: &CustomerId) -> Stored<Vec<Customer>> {
    let rows: Vec<Row> = rows_of_shop!(customer, tx)
        .filter(customer::merged_into.eq(kept.as_str()))
        .order(customer::id.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    whole(tx, rows)
}

/// Stores which record replaces another one; `None` if it is not merged.
pub(in super::super) fn set_merged(
    tx: &mut Tx<'_>,
    id: &CustomerId,
    version: i64,
    into: Option<&CustomerId>,
) -> Stored<()> {
    diesel::update(rows_of_shop!(customer, tx).filter(customer::id.eq(id.as_str())))
        .set((
            customer::merged_into.eq(into.map(CustomerId::as_str)),
            customer::version.eq(version),
            customer::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Sets the shop's own number of a customer.
pub(in super::super) fn set_reference(tx: &mut Tx<'_>, id: &CustomerId, reference: Option<&str>) -> Stored<()> {
    diesel::update(rows_of_shop!(customer, tx).filter(customer::id.eq(id.as_str())))
        .set(customer::reference.eq(reference))
        .execute(tx.conn)?;
    Ok(())
}
