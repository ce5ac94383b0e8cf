//! Rows of customers and their consents.

mod alike;
mod consent;
pub(super) mod erased;
mod merged;
mod row;

use baywright_domain::id::CustomerId;
use diesel::prelude::*;

pub(super) use alike::{candidates, known};
pub(super) use consent::{
    end_consent, give_consents_back, insert_consent, let_consents_stand, move_consent, withdraw_consent,
};
pub(super) use merged::{merged_into, set_merged, set_reference};
use row::{AddressColumns, Columns, Row, phone_keys};

use super::usecase::{Customer, Details, Wanted};
use crate::newest_first;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{customer, search_word};

fn whole(tx: &mut Tx<'_>, rows: Vec<Row>) -> Stored<Vec<Customer>> {
    let ids: Vec<String> = rows.iter().map(|row| row.id.clone()).collect();
    let mut consents = consent::of(tx, &ids)?;
    rows.into_iter()
        .map(|row| {
            let kept = consents.remove(&row.id).unwrap_or_default();
            row.read(kept)
        })
        .collect()
}

pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Customer>> {
    let shop = tx.studio.id.as_str();
    let mine = rows_of_shop!(customer, id = shop).filter(customer::merged_into.is_null());
    let mut mine = mine.select(Row::as_select()).into_boxed();
    if !wanted.kinds.is_empty() {
        mine = mine.filter(customer::kind.eq_any(wanted.kinds.iter().map(|kind| kind.as_str())));
    }
    if let Some(reference) = &wanted.reference {
        mine = mine.filter(customer::reference.eq(reference.clone()));
    }
    if let Some(email) = &wanted.email {
        // The whole address is one of the words by which a customer is found.
        let having = rows_of_shop!(search_word, id = shop)
            .filter(search_word::word.eq(baywright_domain::search::whole(email)))
            .select(search_word::subject_id);
        mine = mine.filter(customer::id.eq_any(having));
    }
    let rows: Vec<Row> = newest_first!(mine, customer::id, customer::created_at, paging, tx.conn);
    whole(tx, rows)
}

pub(super) fn find(tx: &mut Tx<'_>, id: &CustomerId) -> Stored<Option<Customer>> {
    Ok(of_ids(tx, std::slice::from_ref(id))?.pop())
}

pub(super) fn of_ids(tx: &mut Tx<'_>, ids: &[CustomerId]) -> Stored<Vec<Customer>> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    let ids: Vec<String> = ids.iter().map(ToString::to_string).collect();
    let rows: Vec<Row> =
        rows_of_shop!(customer, tx).filter(customer::id.eq_any(ids)).select(Row::as_select()).load(tx.conn)?;
    whole(tx, rows)
}

/// Ids of customers that were neither erased nor merged into others, oldest first.
pub(super) fn standing_ids(tx: &mut Tx<'_>) -> Stored<Vec<CustomerId>> {
    let ids: Vec<String> = rows_of_shop!(customer, tx)
        .filter(customer::erased_at.is_null())
        .filter(customer::merged_into.is_null())
        .order(customer::id.asc())
        .select(customer::id)
        .load(tx.conn)?;
    Ok(ids.into_iter().map(CustomerId::new).collect())
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &CustomerId, details: &Details) -> Stored<()> {
    diesel::insert_into(customer::table)
        .values((
            customer::id.eq(id.as_str()),
            customer::shop_id.eq(tx.studio.id.as_str()),
            Columns::of(id.as_str(), details)?,
            AddressColumns::of(id.as_str(), details.address.as_ref())?,
            customer::phone_keys.eq(phone_keys(id.as_str(), details, tx.studio.country)?),
            customer::version.eq(1_i64),
            customer::created_at.eq(tx.now.ms()),
            customer::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn update(tx: &mut Tx<'_>, id: &CustomerId, version: i64, details: &Details) -> Stored<()> {
    diesel::update(rows_of_shop!(customer, tx).filter(customer::id.eq(id.as_str())))
        .set((
            Columns::of(id.as_str(), details)?,
            AddressColumns::of(id.as_str(), details.address.as_ref())?,
            customer::phone_keys.eq(phone_keys(id.as_str(), details, tx.studio.country)?),
            customer::version.eq(version),
            customer::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Stores the parsed form of a customer's telephone numbers. The details stay as they were, and so does the version.
pub(super) fn set_phone_keys(tx: &mut Tx<'_>, id: &CustomerId, keys: &[String]) -> Stored<()> {
    diesel::update(rows_of_shop!(customer, tx).filter(customer::id.eq(id.as_str())))
        .set(customer::phone_keys.eq(RowId::of("customer", id.as_str()).write("phone_keys", &keys.to_vec())?))
        .execute(tx.conn)?;
    Ok(())
}

/// Marks the customer as erased, and ends their consents without how they were given.
pub(super) fn mark_erased(tx: &mut Tx<'_>, id: &CustomerId) -> Stored<()> {
    diesel::update(rows_of_shop!(customer, tx).filter(customer::id.eq(id.as_str())))
        .set(customer::erased_at.eq(tx.now.ms()))
        .execute(tx.conn)?;
    consent::end_all(tx, id)
}
