//! What is done to customers.

use std::collections::BTreeSet;

use baywright_domain::customer::{ConsentKind, Traits};
use baywright_domain::id::CustomerId;
use serde_json::json;

pub use super::details::{Address, Customer, Details, GivenConsent, KeptConsent};
use super::store;
use crate::platform::answer::Page;
use crate::platform::cursor::{Mark, Paging};
use crate::platform::etag::IfMatch;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::personal::{Held, Holder, Left, Of};
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::search;

/// Which customers a list holds.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Only those of one of these kinds; empty for all.
    pub kinds: Vec<baywright_domain::customer::CustomerKind>,
    /// Only the one with the shop's own number.
    pub reference: Option<String>,
    /// Only those with that mail address, in any case.
    pub email: Option<String>,
}

/// One page of the shop's customers.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Page<Customer>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |customer| Mark::of_id(customer.id.as_str())))
}

/// The customer of that id.
pub fn show(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Customer> {
    Ok(store::find(tx, id)?.ok_or_else(|| Problem::not_found("customer"))?)
}

/// The customers of those ids that there are, in no order.
pub fn of_ids(tx: &mut Tx<'_>, ids: &[CustomerId]) -> Done<Vec<Customer>> {
    Ok(store::of_ids(tx, ids)?)
}

/// Id and traits of every customer that was not erased, to tell whether a list names them.
pub fn known(tx: &mut Tx<'_>) -> Done<Vec<(CustomerId, Traits)>> {
    Ok(store::known(tx)?)
}

/// Every customer that was not erased, oldest first.
pub fn all(tx: &mut Tx<'_>) -> Done<Vec<Customer>> {
    let ids = store::standing_ids(tx)?;
    let mut all = Vec::with_capacity(ids.len());
    for some in ids.chunks(AT_ONCE) {
        all.extend(store::of_ids(tx, some)?);
    }
    all.sort_unstable_by(|a, b| a.id.cmp(&b.id));
    Ok(all)
}

/// How many ids one query names.
const AT_ONCE: usize = 500;

/// The customer that a new record is to be made for: 404 where there is none, 409 where they were erased.
pub fn standing(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Customer> {
    let customer = show(tx, id)?;
    if customer.erased_at.is_some() {
        return Err(erased().into());
    }
    Ok(customer)
}

/// What an erased customer is called.
pub const ERASED: &str = "Erased customer";

/// Blanks what is known of a customer. Consents end; that and when they were given stays, and not how.
pub fn erase(tx: &mut Tx<'_>, customer: &Customer) -> Done<()> {
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

/// What this feature holds on a customer; [`erase`] blanks it before any other feature is asked to.
pub const HOLDER: Holder = Holder {
    feature: "customer",
    held: &[Held { table: "customer", column: "id", of: Of::Customer }, Held::of_customer("customer_consent")],
    forget: |_, _| Ok(Left::default()),
};

fn erased() -> Problem {
    Problem::conflict("customer-erased", "What was known of this customer was erased. Add them anew.")
}

/// Adds a customer.
pub fn add(tx: &mut Tx<'_>, details: &Details, consents: &[GivenConsent]) -> Done<Customer> {
    let id: CustomerId = ids::new();
    store::insert(tx, &id, details).map_err(reference_taken)?;
    let given = settle(tx, &id, &[], consents)?;
    record::write(tx, "customer.added", ("customer", id.as_str()), json!({ "consents_given": given }))?;
    indexed(tx, &id)
}

/// Replaces what is known of a customer. Consents that are no longer named are taken back now.
pub fn replace(
    tx: &mut Tx<'_>,
    id: &CustomerId,
    seen: IfMatch,
    details: &Details,
    consents: &[GivenConsent],
) -> Done<Customer> {
    let customer = show(tx, id)?;
    seen.check(customer.version)?;
    if customer.erased_at.is_some() {
        return Err(erased().into());
    }
    store::update(tx, id, customer.version + 1, details).map_err(reference_taken)?;
    let given = settle(tx, id, &customer.consents, consents)?;
    let stand: BTreeSet<ConsentKind> = consents.iter().map(|consent| consent.kind).collect();
    let withdrawn: Vec<&str> = in_force(&customer.consents).difference(&stand).map(|kind| kind.as_str()).collect();
    let detail = json!({ "consents_given": given, "consents_withdrawn": withdrawn });
    record::write(tx, "customer.changed", ("customer", id.as_str()), detail)?;
    indexed(tx, id)
}

/// Makes the consents that stand those named; gives the words of the new ones.
fn settle(tx: &mut Tx<'_>, id: &CustomerId, before: &[KeptConsent], now: &[GivenConsent]) -> Done<Vec<&'static str>> {
    let had = in_force(before);
    let mut stand = BTreeSet::new();
    let mut given = Vec::new();
    for (at, consent) in now.iter().enumerate() {
        if !stand.insert(consent.kind) {
            let pointer = format!("/consents/{at}/kind");
            return Err(Problem::field(pointer, "repeated", "Name each kind of consent once.").into());
        }
        if consent.given_at.is_some_and(|given_at| given_at > tx.now) {
            let pointer = format!("/consents/{at}/given_at");
            return Err(Problem::field(pointer, "in_future", "A consent can't be given later than now.").into());
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
    let (hit, words) = customer.found_as();
    search::usecase::index(tx, hit, &words)?;
    Ok(customer)
}

fn reference_taken(error: DbError) -> Fail {
    if error.is_taken() {
        Problem::field("/reference", "taken", "Another customer has this number already. Use another.").into()
    } else {
        Fail::from(error)
    }
}
