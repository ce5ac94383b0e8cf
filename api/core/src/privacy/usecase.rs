//! Showing a customer the data about them, and erasing it.

mod readable;

use std::collections::{BTreeMap, BTreeSet};

use baywright_domain::customer::{Kept, OpenBusiness, Traits, may_erase};
use baywright_domain::id::{CustomerId, ShopId};
use chrono::NaiveDate;
use serde_json::{Value, json};

use self::readable::Reader;
use crate::customer::usecase::{self as customer, Customer};
use crate::features::{holders, photos_shown_by};
use crate::mail::carrier;
use crate::platform::db::dump;
use crate::platform::fail::{DbError, Done};
use crate::platform::personal::{Leaving, Of};
use crate::platform::program::Program;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{record, replay};
use crate::{booking, enquiry, invoice, media, payment, search, shop};

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
    /// The rest of them that is kept.
    pub customer: Customer,
    /// Number of records of each kind that were blanked.
    pub removed: Vec<(Kept, usize)>,
    /// Number of records of each kind that must be kept, and the last day of the last of them.
    pub kept: Vec<(Kept, usize, NaiveDate)>,
    /// Files to be deleted.
    pub files: Files,
}

/// Files of an erased customer. Delete them with [`clean_up`] after the transaction has ended.
#[derive(Debug, Clone, Default)]
pub struct Files {
    /// Paths below the folder of the shop's photographs.
    photos: Vec<String>,
    /// Ids of mails.
    mails: Vec<String>,
}

/// Removes what an erasure left outside the rows: files, and older pages of the database. No transaction may be open.
///
/// # Errors
/// If the database can't be reached.
pub fn clean_up(program: &Program, shop: &ShopId, files: &Files) -> Done<()> {
    media::usecase::sweep(&program.config.data, shop, &files.photos);
    carrier::forget(&program.config.data, &files.mails);
    Ok(program.db.rewrite()?)
}

/// All data about a customer, feature by feature, and the customer's id; for a record that was merged into another one,
/// the data about the customer whose record remains.
///
/// # Errors
/// `NotFound` if there is no such customer.
pub fn held(tx: &mut Tx<'_>, id: &CustomerId) -> Done<(CustomerId, Vec<Records>)> {
    let id = customer::show(tx, id)?.merged_into.unwrap_or_else(|| id.clone());
    let found = gather(tx, &id)?;
    let reader = Reader::of(tx)?;
    let mut told = BTreeSet::new();
    let mut all = Vec::new();
    for holder in holders() {
        for held in holder.held {
            let rows = found.rows.get(held.table).filter(|rows| !rows.is_empty());
            if let Some(rows) = rows.filter(|_| told.insert(held.table)) {
                let rows = rows.iter().map(|row| reader.row(row)).collect();
                all.push(Records { feature: holder.feature, table: held.table, rows });
            }
        }
    }
    Ok((id, all))
}

/// Finds all rows of a customer, in the features' order.
fn gather(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Leaving> {
    let keep_years = shop::usecase::settings(tx)?.terms.keep_years;
    let (rows, photos_shown_by) = (BTreeMap::new(), photos_shown_by().to_vec());
    let mut found = Leaving { customer: id.clone(), rows, keep_years, photos_shown_by };
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
/// `NotFound` if there is none; `Conflict` if they were erased already, or if a booking, an invoice or a credit is
/// open.
pub fn erase(tx: &mut Tx<'_>, id: &CustomerId, seen: Seen) -> Done<Erased> {
    let before = customer::standing(tx, id)?;
    seen.check(before.version)?;
    may_erase(open_business(tx, id)?)?;
    let leaving = gather(tx, id)?;
    let records = customer::all_of(tx, &before)?;
    // This comes first, because sent documents can be changed only for an erased customer.
    customer::erase(tx, &before)?;
    let mut kept: BTreeMap<Kept, (usize, NaiveDate)> = BTreeMap::new();
    let mut files = Files::default();
    for holder in holders() {
        let left = (holder.forget)(tx, &leaving)?;
        files.photos.extend(left.files);
        files.mails.extend(left.mails);
        for (record, until) in left.kept {
            let known = kept.entry(record).or_insert((0, until));
            *known = (known.0 + 1, known.1.max(until));
        }
    }
    let ids = leaving.all_ids();
    for gone in &ids {
        search::usecase::forget(tx, gone)?;
    }
    replay::forget_what_says(tx, &traces(&records, &ids))?;
    warn_of_callers(tx, &records)?;
    let told: serde_json::Map<String, Value> =
        kept.iter().map(|(record, (count, _))| (record.as_str().to_lowercase(), json!(count))).collect();
    record::write(tx, "customer.erased", ("customer", id.as_str()), json!({ "kept": told }))?;
    let kept = kept.into_iter().map(|(record, (count, until))| (record, count, until)).collect();
    Ok(Erased { customer: customer::show(tx, id)?, removed: removed(&leaving), kept, files })
}

/// Warns of enquiries that may be the customer's but don't say so, which are not erased: a number or an address may be
/// another person's as well. The warning is kept with the answer, so it names them by their ids alone.
fn warn_of_callers(tx: &mut Tx<'_>, records: &[Customer]) -> Done<()> {
    let country = tx.studio.country;
    let known: Vec<Traits> = records.iter().map(|record| record.details.traits(country)).collect();
    for enquiry in enquiry::usecase::of_callers(tx, &known)? {
        let detail = format!(
            "The caller of enquiry {} has the same telephone number or email address, but it names no customer, so it is \
             not erased. Name the customer in it before the erasure, or remove what it says about them.",
            enquiry.id
        );
        tx.warn("caller-not-erased", "", detail);
    }
    Ok(())
}

/// Number of records of each kind an erasure blanks.
fn removed(leaving: &Leaving) -> Vec<(Kept, usize)> {
    let count = |table: &str, counts: fn(&Value) -> bool| {
        leaving.rows.get(table).map_or(0, |rows| rows.iter().filter(|row| counts(row)).count())
    };
    let any = |_: &Value| true;
    let unsigned = |row: &Value| row.get("state").and_then(Value::as_str) != Some("SIGNED");
    let draft = |row: &Value| row.get("state").and_then(Value::as_str) == Some("DRAFT");
    let counted = [
        (Kept::Contact, count("customer", any)),
        (Kept::Vehicle, count("vehicle", any)),
        (Kept::Enquiry, count("enquiry", any)),
        (Kept::Inspection, count("inspection", any)),
        (Kept::Photo, count("photo", any)),
        (Kept::OpenQuote, count("quote_revision", unsigned) + count("variation", unsigned)),
        (Kept::Job, count("booking", any)),
        (Kept::Message, count("message", any)),
        (Kept::Invoice, count("invoice", draft)),
    ];
    counted.into_iter().filter(|(_, count)| *count > 0).collect()
}

/// Texts by which a stored answer is recognised as being about the customer, by any of their records.
fn traces(records: &[Customer], ids: &[String]) -> Vec<String> {
    // The texts as they are written inside JSON.
    let inside = |text: &String| json!(text).to_string().trim_matches('"').to_owned();
    let mut all: Vec<String> = ids.to_vec();
    for Customer { details, .. } in records {
        let texts = details.emails.iter().chain(&details.phones).chain([&details.name]).chain(&details.contact_name);
        all.extend(texts.map(inside));
    }
    all.retain(|text| !text.is_empty());
    all
}

fn open_business(tx: &mut Tx<'_>, id: &CustomerId) -> Done<OpenBusiness> {
    let balance = payment::usecase::balance(tx, id)?;
    Ok(OpenBusiness {
        bookings: booking::usecase::open_of(tx, id)?,
        invoices: invoice::usecase::open_of(tx, id)?.len(),
        credits: usize::from(!balance.credit.is_zero()),
    })
}
