//! Rows of customers.

use baywright_domain::id::CustomerId;
use diesel::prelude::*;

use super::usecase::{Customer, Details};
use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::cursor::Paging;
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::customer;

#[derive(Queryable, Selectable)]
#[diesel(table_name = customer)]
struct Row {
    id: String,
    name: String,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

impl From<Row> for Customer {
    fn from(row: Row) -> Self {
        Self {
            id: row.id.into(),
            version: row.version,
            details: Details { name: row.name },
            created_at: UtcTime::from_ms(row.created_at),
            updated_at: UtcTime::from_ms(row.updated_at),
        }
    }
}

pub(super) fn page(tx: &mut Tx<'_>, paging: &Paging) -> Stored<Vec<Customer>> {
    let mine =
        customer::table.filter(customer::shop_id.eq(tx.studio.id.as_str())).select(Row::as_select()).into_boxed();
    let rows: Vec<Row> = newest_first!(mine, customer::id, paging).load(tx.conn)?;
    Ok(rows.into_iter().map(Customer::from).collect())
}

pub(super) fn find(tx: &mut Tx<'_>, id: &CustomerId) -> Stored<Option<Customer>> {
    let row: Option<Row> = customer::table
        .filter(customer::shop_id.eq(tx.studio.id.as_str()))
        .filter(customer::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    Ok(row.map(Customer::from))
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &CustomerId, details: &Details) -> Stored<()> {
    diesel::insert_into(customer::table)
        .values((
            customer::id.eq(id.as_str()),
            customer::shop_id.eq(tx.studio.id.as_str()),
            customer::name.eq(&details.name),
            customer::version.eq(1_i64),
            customer::created_at.eq(tx.now.ms()),
            customer::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn update(tx: &mut Tx<'_>, id: &CustomerId, version: i64, details: &Details) -> Stored<()> {
    diesel::update(
        customer::table.filter(customer::shop_id.eq(tx.studio.id.as_str())).filter(customer::id.eq(id.as_str())),
    )
    .set((customer::name.eq(&details.name), customer::version.eq(version), customer::updated_at.eq(tx.now.ms())))
    .execute(tx.conn)?;
    Ok(())
}
