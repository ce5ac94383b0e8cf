//! Telling a customer what is held on them, and erasing it.

use std::collections::{BTreeMap, BTreeSet};

use baywright_domain::customer::{Kept, OpenBusiness, may_erase};
use baywright_domain::id::CustomerId;
use chrono::NaiveDate;
use serde_json::{Value, json};

use crate::customer::usecase::{self as customer, Customer};
use crate::features::holders;
use crate::platform::clock::UtcTime;
use crate::platform::db::dump;
use crate::platform::etag::IfMatch;
use crate::platform::fail::{DbError, Done};
use crate::platform::idempotency;
use crate::platform::personal::{Leaving, Of};
use crate::platform::record;
use crate::platform::token;
use crate::platform::tx::Tx;
use crate::{booking, invoice, payment, search, shop};

/// The rows that one feature holds in one table.
#[derive(Debug, Clone, PartialEq)]
pub struct Records {
    /// The feature.
    pub feature: &'static str,
    /// The table.
    pub table: &'static str,
    /// The rows, each an object of its columns.
    pub rows: Vec<Value>,
}

/// A customer who was erased.
#[derive(Debug, Clone)]
pub struct Erased {
    /// What is left of them.
    pub customer: Customer,
    /// How many records of each kind must be kept, and the last day of the last of them.
    pub kept: Vec<(Kept, usize, NaiveDate)>,
    /// Paths of files below the folder of the shop's photographs. Remove them after the transaction has ended.
    pub files: Vec<String>,
}

/// Everything that is held on a customer, feature by feature.
///
/// # Errors
/// 404 where there is no such customer.
pub fn held(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Vec<Records>> {
    customer::show(tx, id)?;
    let found = gather(tx, id)?;
    let mut told = BTreeSet::new();
    let mut all = Vec::new();
    for holder in holders() {
        for held in holder.held {
            let rows = found.rows.get(held.table).filter(|rows| !rows.is_empty());
            if let Some(rows) = rows.filter(|_| told.insert(held.table)) {
                let rows = rows.iter().map(readable).collect();
                all.push(Records { feature: holder.feature, table: held.table, rows });
            }
        }
    }
    Ok(all)
}

/// A row as people read it: moments as such, and kept JSON as JSON.
fn readable(row: &Value) -> Value {
    let Some(columns) = row.as_object() else { return row.clone() };
    let read = |(name, value): (&String, &Value)| {
        let value = match value {
            Value::Number(ms) if name.ends_with("_at") => ms.as_i64().map(|ms| json!(UtcTime::from_ms(ms).to_string())),
            Value::String(text) if text.starts_with(['{', '[']) => serde_json::from_str(text).ok(),
            Value::String(text) => Some(json!(without_secrets(text))),
            _ => None,
        }
        .unwrap_or_else(|| value.clone());
        (name.clone(), value)
    };
    Value::Object(columns.iter().map(read).collect())
}

/// Text, as a mail's, without the secrets of links in it.
fn without_secrets(text: &str) -> String {
    let mut parts = text.split(LINK);
    let mut told = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let secret = part.get(..token::LETTERS).is_some_and(token::is_plausible);
        let rest = if secret { part.get(token::LETTERS..).unwrap_or_default() } else { part };
        told.extend([LINK, if secret { "…" } else { "" }, rest]);
    }
    told
}

/// What stands before the secret in the address of a customer's page.
const LINK: &str = "/q/";

/// Finds all rows of a customer, in the features' order.
fn gather(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Leaving> {
    let keep_years = shop::usecase::settings(tx)?.terms.keep_years;
    let mut found = Leaving { customer: id.clone(), rows: BTreeMap::new(), keep_years };
    let shop = tx.studio.id.clone();
    let tables = dump::tables(tx.conn)?;
    for held in holders().iter().flat_map(|holder| holder.held) {
        let table = tables.iter().find(|table| table.name == held.table);
        let table = table.ok_or_else(|| DbError::Corrupt(format!("there is no table {}", held.table)))?;
        let ids = match held.of {
            Of::Customer => vec![id.to_string()],
            Of::Row(other) => found.ids(other),
            Of::AnyRow => found.all_ids(),
            Of::Named(other, column) => found.named(other, column),
        };
        if ids.is_empty() {
            continue;
        }
        let rows = dump::pick(tx.conn, table, &shop, held.column, &ids)?;
        let known = found.rows.entry(held.table).or_default();
        let new: Vec<Value> = rows.into_iter().filter(|row| !known.contains(row)).collect();
        known.extend(new);
    }
    Ok(found)
}

/// Erases a customer.
///
/// # Errors
/// 404 where there is none; 409 where they were erased already, or where a booking, an invoice or a credit is open.
pub fn erase(tx: &mut Tx<'_>, id: &CustomerId, seen: IfMatch) -> Done<Erased> {
    let before = customer::standing(tx, id)?;
    seen.check(before.version)?;
    may_erase(open_business(tx, id)?)?;
    let leaving = gather(tx, id)?;
    // First of all, since what was sent can be changed of an erased customer only.
    customer::erase(tx, &before)?;
    let mut kept: BTreeMap<Kept, (usize, NaiveDate)> = BTreeMap::new();
    let mut files = Vec::new();
    for holder in holders() {
        let left = (holder.forget)(tx, &leaving)?;
        files.extend(left.files);
        for (record, until) in left.kept {
            let known = kept.entry(record).or_insert((0, until));
            *known = (known.0 + 1, known.1.max(until));
        }
    }
    let ids = leaving.all_ids();
    for gone in &ids {
        search::usecase::forget(tx, gone)?;
    }
    idempotency::forget_what_says(tx, &traces(&before, &ids))?;
    let told: serde_json::Map<String, Value> =
        kept.iter().map(|(record, (count, _))| (record.as_str().to_lowercase(), json!(count))).collect();
    record::write(tx, "customer.erased", ("customer", id.as_str()), json!({ "kept": told }))?;
    let kept = kept.into_iter().map(|(record, (count, until))| (record, count, until)).collect();
    Ok(Erased { customer: customer::show(tx, id)?, kept, files })
}

/// By what an answer that is kept for a repeated request is known to speak of the customer.
fn traces(customer: &Customer, ids: &[String]) -> Vec<String> {
    let details = &customer.details;
    let texts = details.emails.iter().chain(&details.phones).chain([&details.name]).chain(&details.contact_name);
    // As they stand inside JSON text.
    let inside = |text: &String| json!(text).to_string().trim_matches('"').to_owned();
    ids.iter().cloned().chain(texts.map(inside)).filter(|text| !text.is_empty()).collect()
}

fn open_business(tx: &mut Tx<'_>, id: &CustomerId) -> Done<OpenBusiness> {
    let balance = payment::usecase::balance(tx, id)?;
    Ok(OpenBusiness {
        bookings: booking::usecase::open_of(tx, id)?,
        invoices: invoice::usecase::open_of(tx, id)?.len(),
        credits: usize::from(!balance.credit.is_zero()),
    })
}
