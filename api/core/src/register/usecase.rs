//! Use cases of the register.

use baywright_domain::document::CategoryTotal;
use baywright_domain::id::{CustomerId, InvoiceId};
use baywright_domain::money::Money;
use baywright_domain::series::{Prefix, Series, SeriesKind, check_first, next_counter};
use chrono::NaiveDate;
use serde_json::json;

use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::shop::usecase as shop;

/// The kinds of documents in the register.
pub const KINDS: [SeriesKind; 4] =
    [SeriesKind::Invoice, SeriesKind::DepositInvoice, SeriesKind::CreditNote, SeriesKind::RefundReceipt];

/// A document of the register.
#[derive(Debug, Clone)]
pub struct IssuedDocument {
    /// Id of the invoice, credit note or refund.
    pub id: String,
    /// Kind of document.
    pub kind: SeriesKind,
    /// Its number.
    pub number: String,
    /// Date of issue.
    pub issued_on: NaiveDate,
    /// Tax point; `None` for a deposit, whose tax point is its payment, and for a receipt.
    pub tax_point: Option<NaiveDate>,
    /// Id of the customer.
    pub customer: CustomerId,
    /// Id of the invoice that a credit note credits.
    pub invoice: Option<InvoiceId>,
    /// Total before tax.
    pub net: Money,
    /// Total of the tax.
    pub tax: Money,
    /// Total with tax.
    pub gross: Money,
    /// Amount due for payment, credited or refunded.
    pub payable: Money,
    /// SHA-256 of the sealed document.
    pub digest: String,
    /// Time when it was issued.
    pub created_at: UtcTime,
}

/// Filter of the register.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to these kinds; empty for all.
    pub kinds: Vec<SeriesKind>,
    /// Limits the list to one customer.
    pub customer: Option<CustomerId>,
    /// Limits the list to documents issued on this day or later.
    pub from: Option<NaiveDate>,
    /// Limits the list to documents issued on this day or earlier.
    pub until: Option<NaiveDate>,
}

/// A number that a document is about to take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NextNumber {
    /// Prefix of its series.
    pub prefix: Prefix,
    /// Year of its counter.
    pub year: i32,
    /// Its counter.
    pub counter: i64,
    /// The number as documents state it.
    pub text: String,
}

/// A document that is entered into the register.
#[derive(Debug, Clone, Copy)]
pub struct Entry<'a> {
    /// Id of the invoice, credit note or refund.
    pub id: &'a str,
    /// Kind of document.
    pub kind: SeriesKind,
    /// Its number.
    pub number: &'a NextNumber,
    /// Date of issue.
    pub issued_on: NaiveDate,
    /// Tax point, if there is one yet.
    pub tax_point: Option<NaiveDate>,
    /// Id of the customer.
    pub customer: &'a CustomerId,
    /// Id of the invoice that a credit note credits.
    pub invoice: Option<&'a InvoiceId>,
    /// Total before tax.
    pub net: Money,
    /// Total of the tax.
    pub tax: Money,
    /// Total with tax.
    pub gross: Money,
    /// Amount due for payment, credited or refunded.
    pub payable: Money,
    /// Tax by category and rate.
    pub taxes: &'a [CategoryTotal],
    /// SHA-256 of the sealed document.
    pub digest: &'a str,
}

/// One page of the register.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<IssuedDocument>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |document| Mark::of_id(&document.id)))
}

/// The current prefix of a kind of document.
fn prefix_of(tx: &mut Tx<'_>, kind: SeriesKind) -> Done<Prefix> {
    Ok(match kind {
        SeriesKind::Quote => shop::settings(tx)?.terms.quote_prefix,
        SeriesKind::Invoice => shop::settings(tx)?.terms.invoice_prefix,
        SeriesKind::DepositInvoice => shop::money_terms(tx)?.deposit_prefix,
        SeriesKind::CreditNote => shop::money_terms(tx)?.credit_prefix,
        SeriesKind::RefundReceipt => shop::money_terms(tx)?.refund_prefix,
    })
}

/// The next number of a kind of document on that day. Two requests at once can't get the same: they queue for the
/// shop's lock, and the database refuses a number that exists. The caller enters the document in the same transaction.
pub fn next_number(tx: &mut Tx<'_>, kind: SeriesKind, day: NaiveDate) -> Done<NextNumber> {
    let prefix = prefix_of(tx, kind)?;
    let series = Series::yearly(&prefix);
    let year = series.counter_year(day).unwrap_or_default();
    let last = store::last_counter(tx, prefix.as_str(), year)?.map(unsigned).transpose()?;
    let first = store::first(tx, prefix.as_str(), year)?.map_or(Ok(1), unsigned)?;
    let counter = next_counter(last, first);
    let text = series.number(day, counter)?;
    Ok(NextNumber { prefix, year, counter: i64::try_from(counter).map_err(Fail::unexpected)?, text })
}

fn unsigned(number: i64) -> Done<u64> {
    u64::try_from(number).map_err(Fail::unexpected)
}

/// Enters an issued document.
pub fn enter(tx: &mut Tx<'_>, entry: &Entry<'_>) -> Done<()> {
    Ok(store::insert(tx, entry)?)
}

/// The series of one kind of document in the current year.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeriesShown {
    /// Kind of document.
    pub kind: SeriesKind,
    /// Its next number.
    pub next: NextNumber,
    /// Whether it has given out a number this year, so that its first number can no longer be set.
    pub begun: bool,
}

/// The series of each kind of document.
pub fn series(tx: &mut Tx<'_>) -> Done<Vec<SeriesShown>> {
    let today = tx.today()?;
    let mut all = Vec::new();
    for kind in KINDS {
        let next = next_number(tx, kind, today)?;
        let begun = store::last_counter(tx, next.prefix.as_str(), next.year)?.is_some();
        all.push(SeriesShown { kind, next, begun });
    }
    Ok(all)
}

/// Sets the first number of this year's series of a kind of document: a shop that begins to use the program during a
/// year continues where its old numbers ended.
///
/// # Errors
/// `Conflict` if the series has given out a number this year; `Invalid` for quotes, which are not in the register.
pub fn begin_at(tx: &mut Tx<'_>, kind: SeriesKind, first: u64) -> Done<Vec<SeriesShown>> {
    if !KINDS.contains(&kind) {
        let detail = "Quotes are always counted from 1. Choose another kind of document.";
        return Err(Refused::field("/kind", "not_in_register", detail).into());
    }
    let today = tx.today()?;
    let next = next_number(tx, kind, today)?;
    let last = store::last_counter(tx, next.prefix.as_str(), next.year)?.map(unsigned).transpose()?;
    check_first(first, last)?;
    let counter = i64::try_from(first).map_err(Fail::unexpected)?;
    store::put_first(tx, next.prefix.as_str(), next.year, counter)?;
    let shop = tx.studio.id.to_string();
    let detail = json!({ "kind": kind.as_str(), "prefix": next.prefix.as_str(), "first": first.to_string() });
    record::write(tx, "register.series-begun", ("shop", &shop), detail)?;
    series(tx)
}

/// Data that this feature holds about a customer: rows of issued documents, which are kept with them.
pub const HOLDER: Holder = Holder {
    feature: "register",
    held: &[Held::of_customer("issued_document"), Held::of_row("issued_tax", "document_id", "issued_document")],
    forget: |_, _| Ok(Left::default()),
};
