//! What is done to customers.

use baywright_domain::id::CustomerId;
use serde_json::json;

use super::store;
use crate::platform::answer::Page;
use crate::platform::clock::UtcTime;
use crate::platform::cursor::{Mark, Paging};
use crate::platform::etag::IfMatch;
use crate::platform::fail::Done;
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// What is known of a customer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Details {
    /// Full name, or the firm's name.
    pub name: String,
}

/// A customer as it stands.
#[derive(Debug, Clone)]
pub struct Customer {
    /// The customer's id.
    pub id: CustomerId,
    /// Counts the changes.
    pub version: i64,
    /// What is known.
    pub details: Details,
    /// When the record was made.
    pub created_at: UtcTime,
    /// When it last changed.
    pub updated_at: UtcTime,
}

/// One page of the shop's customers.
pub fn list(tx: &mut Tx<'_>, paging: &Paging) -> Done<Page<Customer>> {
    let rows = store::page(tx, paging)?;
    Ok(paging.page(rows, |customer| Mark::of_id(customer.id.as_str())))
}

/// The customer of that id.
pub fn show(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Customer> {
    Ok(store::find(tx, id)?.ok_or_else(|| Problem::not_found("customer"))?)
}

/// Adds a customer.
pub fn add(tx: &mut Tx<'_>, details: &Details) -> Done<Customer> {
    let id: CustomerId = ids::new();
    store::insert(tx, &id, details)?;
    record::write(tx, "customer.added", ("customer", id.as_str()), json!({}))?;
    show(tx, &id)
}

/// Replaces what is known of a customer.
pub fn replace(tx: &mut Tx<'_>, id: &CustomerId, seen: IfMatch, details: &Details) -> Done<Customer> {
    let customer = show(tx, id)?;
    seen.check(customer.version)?;
    store::update(tx, id, customer.version + 1, details)?;
    record::write(tx, "customer.changed", ("customer", id.as_str()), json!({}))?;
    show(tx, id)
}
