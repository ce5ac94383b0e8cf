//! Customers by the details that identify them.

use baywright_domain::customer::Traits;
use baywright_domain::id::CustomerId;
use baywright_domain::search::{whole, whole_name};
use diesel::prelude::*;

use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::phone;
use crate::platform::tx::Tx;
use crate::schema::{customer, search_word};

/// Id, reference, name, email addresses, telephone numbers as typed and parsed, and the record that replaces it.
type Row = (String, Option<String>, String, String, String, String, Option<String>);

const COLUMNS: (
    customer::id,
    customer::reference,
    customer::name,
    customer::emails,
    customer::phones,
    customer::phone_keys,
    customer::merged_into,
) = (
    customer::id,
    customer::reference,
    customer::name,
    customer::emails,
    customer::phones,
    customer::phone_keys,
    customer::merged_into,
);

/// Id and identifying details of every customer that was not erased. Those of a merged record are listed for the record
/// that replaces it, before its own.
pub(in super::super) fn known(tx: &mut Tx<'_>) -> Stored<Vec<(CustomerId, Traits)>> {
    let mut rows: Vec<Row> = rows_of_shop!(customer, tx)
        .filter(customer::erased_at.is_null())
        .order(customer::id.asc())
        .select(COLUMNS)
        .load(tx.conn)?;
    rows.sort_by_key(|row| row.6.is_none());
    rows.into_iter().map(|row| read(tx, row)).collect()
}

/// Id, name and identifying details of customers who may be the same as a given one: those with one of its telephone
/// numbers, email addresses, or the name. The name is that of the record that was not merged.
pub(in super::super) fn candidates(tx: &mut Tx<'_>, said: &Traits) -> Stored<Vec<(CustomerId, String, Traits)>> {
    let name = Some(&said.name).filter(|name| !name.is_empty()).map(|name| whole_name(name));
    let phones = said.phones.iter().map(|key| key.trim_start_matches('+').to_owned());
    let mails = said.emails.iter().map(|mail| whole(mail));
    let words: Vec<String> = phones.chain(mails).chain(name).collect();
    let shop = tx.studio.id.to_string();
    // Queries of one table each, which find their rows by an index whatever the planner knows of the tables' sizes:
    // within the transaction that fills an empty shop it knows nothing, and would scan a joined table row by row.
    let subjects: Vec<String> = rows_of_shop!(search_word, id = &shop)
        .filter(search_word::word.eq_any(words))
        .select(search_word::subject_id)
        .load(tx.conn)?;
    let found: Vec<(String, String)> = rows_of_shop!(customer, id = &shop)
        .filter(customer::merged_into.is_null())
        .filter(customer::id.eq_any(subjects))
        .order(customer::id.asc())
        .select((customer::id, customer::name))
        .load(tx.conn)?;
    if found.is_empty() {
        return Ok(Vec::new());
    }
    let ids: Vec<String> = found.iter().map(|(id, _)| id.clone()).collect();
    let standing = || rows_of_shop!(customer, id = shop.clone()).filter(customer::erased_at.is_null()).select(COLUMNS);
    let mut rows: Vec<Row> =
        standing().filter(customer::id.eq_any(ids.clone())).order(customer::id.asc()).load(tx.conn)?;
    let merged: Vec<Row> =
        standing().filter(customer::merged_into.eq_any(ids)).order(customer::id.asc()).load(tx.conn)?;
    rows.extend(merged);
    let mut all = Vec::with_capacity(rows.len());
    for row in rows {
        let (id, traits) = read(tx, row)?;
        let name = found.iter().find(|(known, _)| *known == id.as_str()).map(|(_, name)| name.clone());
        let name = name.ok_or_else(|| RowId::of("customer", id.as_str()).corrupt("name", "no record of that id"))?;
        all.push((id, name, traits));
    }
    Ok(all)
}

fn read(tx: &Tx<'_>, row: Row) -> Stored<(CustomerId, Traits)> {
    let (id, reference, name, emails, phones, keys, merged_into) = row;
    let row = RowId::of("customer", &id);
    let phones: Vec<String> = row.read("phones", phones)?;
    let mut keys: Vec<String> = row.read("phone_keys", keys)?;
    if keys.len() != phones.len() {
        // The row was written before numbers were parsed, and the scheduled job has not updated it yet.
        keys = phones.iter().map(|typed| phone::key(typed, tx.studio.country)).collect();
    }
    let traits = Traits { reference, name, emails: row.read("emails", emails)?, phones: keys };
    Ok((CustomerId::new(merged_into.unwrap_or(id)), traits))
}
