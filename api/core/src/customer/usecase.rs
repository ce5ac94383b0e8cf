//! Use cases of customers.

mod alike;
mod erased;
pub mod merge;

use std::collections::BTreeSet;

use baywright_domain::customer::{ConsentKind, Traits};
use baywright_domain::id::CustomerId;
use baywright_domain::merge::RecordMove;
use baywright_domain::vat_id::{VatCheck, VatId};
use serde_json::json;

pub use self::alike::{Alike, alike, in_common};
pub use self::erased::{forget_erased, was_erased};
pub use super::details::{Address, Customer, Details, GivenConsent, KeptConsent};
use super::store;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::personal::{Held, Holder, Left, Of};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::search;

/// Filter of the list of customers.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to these kinds; empty for all.
    pub kinds: Vec<baywright_domain::customer::CustomerKind>,
    /// Limits the list to the customer with this number of the shop's own.
    pub reference: Option<String>,
    /// Limits the list to customers with this email address; upper and lower case are the same.
    pub email: Option<String>,
}

/// One page of the shop's customers; records that were merged into others are left out.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Customer>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |customer| Mark::of_id(customer.id.as_str())))
}

/// The customer with that id.
pub fn show(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Customer> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("customer"))?)
}

/// The customers with those ids, in no order; unknown ids are left out.
pub fn of_ids(tx: &mut Tx<'_>, ids: &[CustomerId]) -> Done<Vec<Customer>> {
    Ok(store::of_ids(tx, ids)?)
}

/// Id and identifying details of every customer that was not erased, to check whether a list names them. A customer
/// with merged records is listed once for each of them, before their own details.
pub fn known(tx: &mut Tx<'_>) -> Done<Vec<(CustomerId, Traits)>> {
    Ok(store::known(tx)?)
}

/// Every customer that was neither erased nor merged into another, oldest first.
pub fn all(tx: &mut Tx<'_>) -> Done<Vec<Customer>> {
    let ids = store::standing_ids(tx)?;
    let mut all = Vec::with_capacity(ids.len());
    for some in ids.chunks(AT_ONCE) {
        all.extend(store::of_ids(tx, some)?);
    }
    all.sort_unstable_by(|a, b| a.id.cmp(&b.id));
    Ok(all)
}

/// Number of ids one query names.
const AT_ONCE: usize = 500;

/// The customer that a new record is to be made for: `NotFound` if there is none, `Conflict` if they were erased or
/// merged into another.
pub fn standing(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Customer> {
    let customer = unmerged(tx, id)?;
    if customer.erased_at.is_some() {
        return Err(erased().into());
    }
    Ok(customer)
}

/// The customer with that id, erased or not: `NotFound` if there is none, `Conflict` if they were merged into another.
pub fn unmerged(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Customer> {
    let customer = show(tx, id)?;
    match &customer.merged_into {
        Some(into) => Err(merged(into).into()),
        None => Ok(customer),
    }
}

/// All records of a customer: their own, and those that were merged into it.
pub fn all_of(tx: &mut Tx<'_>, customer: &Customer) -> Done<Vec<Customer>> {
    let mut all = store::merged_into(tx, &customer.id)?;
    all.push(customer.clone());
    Ok(all)
}

/// Name of an erased customer.
pub const ERASED: &str = "Erased customer";

/// Blanks the details of a customer, and those of the records that were merged into theirs. Consents end; their kinds
/// and times stay, but not how they were given. A digest of each address and number stays too, to recognise them by
/// ([`was_erased`]).
pub fn erase(tx: &mut Tx<'_>, customer: &Customer) -> Done<()> {
    let records = all_of(tx, customer)?;
    for one in &records {
        let traits = one.details.traits(tx.studio.country);
        erased::remember(tx, &traits)?;
    }
    for one in &records {
        blank(tx, one)?;
    }
    Ok(())
}

fn blank(tx: &mut Tx<'_>, customer: &Customer) -> Done<()> {
    customer.state().go(RecordMove::Erase)?;
    let blank = Details {
        kind: customer.details.kind,
        reference: None,
        name: ERASED.to_owned(),
        contact_name: None,
        emails: Vec::new(),
        phones: Vec::new(),
        address: None,
        vat_id: None,
        purchase_order_required: false,
        prices: None,
        notes: String::new(),
        language: "en".to_owned(),
    };
    store::update(tx, &customer.id, customer.version + 1, &blank)?;
    store::mark_erased(tx, &customer.id)?;
    Ok(())
}

/// Data that this feature holds about a customer; [`erase`] blanks it before any other feature is asked to.
pub const HOLDER: Holder = Holder {
    feature: "customer",
    held: &[
        Held { table: "customer", column: "id", of: Of::Customer },
        Held { table: "customer", column: "merged_into", of: Of::Customer },
        Held::of_row("customer_consent", "customer_id", "customer"),
    ],
    forget: |_, _| Ok(Left::default()),
};

fn merged(into: &CustomerId) -> Refused {
    let detail = format!("This record was merged into another one. Use the customer {into} instead.");
    Refused::conflict("customer-merged", detail)
}

fn erased() -> Refused {
    Refused::conflict("customer-erased", "This customer's data was erased. Add them as a new customer.")
}

/// Adds a customer. If they are similar to a known customer, the desk must confirm that this is somebody else.
pub fn add(tx: &mut Tx<'_>, details: &Details, consents: &[GivenConsent]) -> Done<Customer> {
    let id: CustomerId = ids::new();
    store::insert(tx, &id, details).map_err(reference_taken)?;
    warn_of_vat_id(tx, details.vat_id.as_ref());
    let traits = details.traits(tx.studio.country);
    // The new record is not yet in the index, so it is not similar to itself; if this refuses, the transaction stores
    // nothing.
    alike::confirm_new(tx, &traits)?;
    if was_erased(tx, &traits)? {
        let detail = "A customer with this telephone number or email address asked to be erased. Add them again only \
                      if they have come back themselves.";
        tx.warn("erased-before", "", detail);
    }
    let given = settle(tx, &id, &[], consents)?;
    record::write(tx, "customer.added", ("customer", id.as_str()), json!({ "consents_given": given }))?;
    indexed(tx, &id)
}

/// Warns if the check digits of a VAT number are wrong: it was mistyped, though no rule refuses it.
fn warn_of_vat_id(tx: &mut Tx<'_>, vat_id: Option<&VatId>) {
    if let Some(number) = vat_id.filter(|number| number.check() == VatCheck::Wrong) {
        let detail = format!("The check digits of {number} are wrong. Compare it with what the customer sent.");
        tx.warn("vat-check-digits", "/vat_id", detail);
    }
}

/// Replaces the details of a customer. Consents that are no longer listed are withdrawn now.
pub fn replace(
    tx: &mut Tx<'_>,
    id: &CustomerId,
    seen: Seen,
    details: &Details,
    consents: &[GivenConsent],
) -> Done<Customer> {
    let customer = show(tx, id)?;
    seen.check(customer.version)?;
    standing(tx, id)?;
    if details.vat_id != customer.details.vat_id {
        warn_of_vat_id(tx, details.vat_id.as_ref());
    }
    let country = tx.studio.country;
    alike::warn_of_known(tx, id, &customer.details.traits(country), &details.traits(country))?;
    store::update(tx, id, customer.version + 1, details).map_err(reference_taken)?;
    let given = settle(tx, id, &customer.consents, consents)?;
    let stand: BTreeSet<ConsentKind> = consents.iter().map(|consent| consent.kind).collect();
    let withdrawn: Vec<&str> = in_force(&customer.consents).difference(&stand).map(|kind| kind.as_str()).collect();
    let detail = json!({ "consents_given": given, "consents_withdrawn": withdrawn });
    record::write(tx, "customer.changed", ("customer", id.as_str()), detail)?;
    indexed(tx, id)
}

/// Sets the valid consents to the listed ones; returns the kinds of the new ones.
fn settle(tx: &mut Tx<'_>, id: &CustomerId, before: &[KeptConsent], now: &[GivenConsent]) -> Done<Vec<&'static str>> {
    let had = in_force(before);
    let mut stand = BTreeSet::new();
    let mut given = Vec::new();
    for (at, consent) in now.iter().enumerate() {
        if !stand.insert(consent.kind) {
            let pointer = format!("/consents/{at}/kind");
            return Err(Refused::field(pointer, "repeated", "Name each kind of consent once.").into());
        }
        if consent.given_at.is_some_and(|given_at| given_at > tx.now) {
            let pointer = format!("/consents/{at}/given_at");
            return Err(Refused::field(
                pointer,
                "in_future",
                "A consent can't be dated in the future. Give now or an earlier time.",
            )
            .into());
        }
        if !had.contains(&consent.kind) {
            store::insert_consent(tx, id, consent)?;
            given.push(consent.kind.as_str());
        }
    }
    for kind in had.difference(&stand) {
        store::withdraw_consent(tx, id, *kind)?;
    }
    Ok(given)
}

fn in_force(consents: &[KeptConsent]) -> BTreeSet<ConsentKind> {
    consents.iter().filter(|kept| kept.consent.withdrawn_at.is_none()).map(|kept| kept.consent.kind).collect()
}

fn indexed(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Customer> {
    let customer = show(tx, id)?;
    put_in_index(tx, &customer)?;
    Ok(customer)
}

fn put_in_index(tx: &mut Tx<'_>, customer: &Customer) -> Done<()> {
    let merged = store::merged_into(tx, &customer.id)?;
    let (hit, words) = customer.found_as(tx.studio.country, &merged);
    search::usecase::index(tx, hit, &words)
}

/// Indexes customers again whose search words were made by other rules, and parses their telephone numbers again: after
/// an update of the program, and after the shop's country changed. It takes some at a time, so that nobody waits for
/// it.
pub fn index_anew(tx: &mut Tx<'_>) -> Done<()> {
    let ids: Vec<CustomerId> = search::usecase::outdated(tx, "customer")?.into_iter().map(CustomerId::new).collect();
    for customer in store::of_ids(tx, &ids)? {
        let keys = customer.details.traits(tx.studio.country).phones;
        store::set_phone_keys(tx, &customer.id, &keys)?;
        put_in_index(tx, &customer)?;
    }
    Ok(())
}

fn reference_taken(error: DbError) -> Fail {
    if error.is_taken() {
        Refused::field("/reference", "taken", "Another customer has this number already. Use another.").into()
    } else {
        Fail::from(error)
    }
}
