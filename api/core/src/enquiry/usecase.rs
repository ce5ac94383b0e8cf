//! Use cases of enquiries.

use std::collections::BTreeSet;

use baywright_domain::customer::{ConsentKind, CustomerKind, Key, Traits};
use baywright_domain::enquiry::{CloseReason, EnquiryState};
use baywright_domain::id::{CustomerId, EnquiryId, QuoteId};
use serde_json::json;

pub use super::details::{Caller, Details, Enquiry};
use super::store::{self, Change};
use crate::customer::usecase as customer;
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::{quote, search, vehicle};

/// Filter of the list of enquiries.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to these states; empty for all.
    pub states: Vec<EnquiryState>,
    /// Limits the list to one customer.
    pub customer: Option<CustomerId>,
}

/// One page of the shop's enquiries.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Enquiry>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |enquiry| Mark::of_id(enquiry.id.as_str())))
}

/// The enquiry with that id.
pub fn show(tx: &mut Tx<'_>, id: &EnquiryId) -> Done<Enquiry> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("enquiry"))?)
}

/// Enquiries that name no customer, and whose caller has an email address or a telephone number of one of these customers;
/// oldest first.
pub fn of_callers(tx: &mut Tx<'_>, customers: &[Traits]) -> Done<Vec<Enquiry>> {
    let contacts = |traits: &Traits| -> BTreeSet<Key> {
        traits.keys().into_iter().filter(|key| matches!(key, Key::Mail(_) | Key::Phone(_))).collect()
    };
    let wanted: BTreeSet<Key> = customers.iter().flat_map(contacts).collect();
    let country = tx.studio.country;
    let mut found = store::without_customer(tx)?;
    found.retain(|enquiry| {
        let caller = enquiry.details.caller.as_ref().map(|caller| contacts(&caller.traits(country)));
        caller.is_some_and(|caller| !caller.is_disjoint(&wanted))
    });
    Ok(found)
}

/// Records an enquiry.
pub fn take(tx: &mut Tx<'_>, details: &Details) -> Done<Enquiry> {
    check(tx, details, None)?;
    let id: EnquiryId = ids::new();
    warn_of_known(tx, details)?;
    store::insert(tx, &id, details)?;
    record::write(tx, "enquiry.taken", ("enquiry", id.as_str()), json!({ "channel": details.channel.as_str() }))?;
    indexed(tx, &id)
}

/// Replaces the details of an enquiry.
pub fn replace(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, details: &Details) -> Done<Enquiry> {
    let enquiry = show(tx, id)?;
    seen.check(enquiry.version)?;
    enquiry.state.change()?;
    if enquiry.state == EnquiryState::Quoted && details.customer != enquiry.details.customer {
        let detail = "The enquiry's quote belongs to this customer. Record another customer's call as a new enquiry.";
        return Err(Refused::field("/customer_id", "other_customer", detail).into());
    }
    check(tx, details, Some(&enquiry))?;
    if details.caller != enquiry.details.caller {
        warn_of_known(tx, details)?;
    }
    store::update(tx, &enquiry, details)?;
    record::write(tx, "enquiry.changed", ("enquiry", id.as_str()), json!({}))?;
    indexed(tx, id)
}

/// Warns if the caller is already a customer, and names them.
fn warn_of_known(tx: &mut Tx<'_>, details: &Details) -> Done<()> {
    let Some(caller) = details.caller.as_ref().filter(|_| details.customer.is_none()) else { return Ok(()) };
    let said = caller.traits(tx.studio.country);
    for known in customer::alike(tx, &said)? {
        let detail = format!(
            "{} is already a customer, with the same {}. If this is their enquiry, give {} as customer_id.",
            known.name,
            customer::in_common(&known.likeness),
            known.id,
        );
        tx.warn("known-caller", "/caller", detail);
    }
    Ok(())
}

/// Checks the details against the rules and other records.
fn check(tx: &mut Tx<'_>, details: &Details, before: Option<&Enquiry>) -> Done<()> {
    details.asker().check()?;
    if let Some(id) = &details.customer {
        if customer::of_ids(tx, std::slice::from_ref(id))?.is_empty() {
            return Err(Refused::field("/customer_id", "not_found", "There is no such customer.").into());
        }
        customer::standing(tx, id)?;
    }
    if let Some(id) = &details.vehicle {
        let found = vehicle::usecase::of_ids(tx, std::slice::from_ref(id))?.pop();
        let found = found.filter(|found| Some(&found.details.customer_id) == details.customer.as_ref());
        if found.is_none() {
            let detail = "This customer has no such vehicle. Give the customer and one of their vehicles.";
            return Err(Refused::field("/vehicle_id", "not_found", detail).into());
        }
        vehicle::usecase::standing(tx, id)?;
    }
    let known = before.is_some_and(|enquiry| enquiry.details.wanted_by == details.wanted_by);
    let today = tx.today()?;
    if details.wanted_by.is_some_and(|day| day < today) && !known {
        return Err(Refused::field("/wanted_by", "in_past", "Write today or a later day.").into());
    }
    details.wanted_by.filter(|_| !known).map_or(Ok(()), |day| tx.must_confirm_days((day, day), None))
}

/// Makes the caller a customer, with the consents that they gave in the enquiry.
pub fn add_customer(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, kind: CustomerKind) -> Done<Enquiry> {
    let enquiry = show(tx, id)?;
    seen.check(enquiry.version)?;
    enquiry.state.change()?;
    let Some(caller) = enquiry.details.caller.clone().filter(|_| enquiry.details.customer.is_none()) else {
        let detail = "This enquiry already has a customer.";
        return Err(Refused::conflict("customer-known", detail).into());
    };
    let consents: Vec<customer::GivenConsent> =
        [(caller.may_mail, ConsentKind::Mail), (caller.may_phone, ConsentKind::Phone)]
            .into_iter()
            .filter(|(given, _)| *given)
            .map(|(_, kind)| customer::GivenConsent {
                kind,
                how: format!("{}, when asking", enquiry.details.channel.label()),
                given_at: Some(enquiry.created_at),
            })
            .collect();
    let known = customer::Details {
        kind,
        reference: None,
        name: caller.name,
        contact_name: None,
        emails: caller.email.into_iter().collect(),
        phones: caller.phone.into_iter().collect(),
        address: None,
        vat_id: None,
        purchase_order_required: false,
        prices: None,
        notes: String::new(),
        language: "en".to_owned(),
    };
    let added = customer::add(tx, &known, &consents)?;
    let details = Details { customer: Some(added.id.clone()), ..enquiry.details.clone() };
    store::update(tx, &enquiry, &details)?;
    let detail = json!({ "customer_id": added.id.as_str() });
    record::write(tx, "enquiry.customer-added", ("enquiry", id.as_str()), detail)?;
    indexed(tx, id)
}

/// Links the quote that was made from it. The enquiry then takes over the quote's customer and vehicle, if it had none.
pub fn quoted(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, quote: &QuoteId) -> Done<Enquiry> {
    let enquiry = show(tx, id)?;
    seen.check(enquiry.version)?;
    let state = enquiry.state.quote()?;
    let unknown = |detail: &str| Refused::field("/quote_id", "not_found", detail);
    let made = quote::usecase::find(tx, quote)?.ok_or_else(|| unknown("There is no such quote."))?;
    if enquiry.details.customer.as_ref().is_some_and(|known| *known != made.customer) {
        return Err(unknown("This quote belongs to another customer. Give a quote of the customer who asked.").into());
    }
    let details = Details {
        customer: Some(made.customer),
        vehicle: Some(enquiry.details.vehicle.clone().unwrap_or(made.vehicle)),
        ..enquiry.details.clone()
    };
    store::update(tx, &enquiry, &details)?;
    store::set(tx, &enquiry, &Change { state, quote: Some(quote.clone()), closed: None })?;
    record::write(tx, "enquiry.quoted", ("enquiry", id.as_str()), json!({ "quote_id": quote.as_str() }))?;
    indexed(tx, id)
}

/// Closes an enquiry with a reason.
pub fn close(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, reason: CloseReason, note: &str) -> Done<Enquiry> {
    let enquiry = show(tx, id)?;
    seen.check(enquiry.version)?;
    let (state, note) = enquiry.state.close(reason, note)?;
    let change = Change { state, quote: enquiry.quote.clone(), closed: Some((reason, note)) };
    store::set(tx, &enquiry, &change)?;
    record::write(tx, "enquiry.closed", ("enquiry", id.as_str()), json!({ "reason": reason.as_str() }))?;
    show(tx, id)
}

/// Data that this feature holds about a customer.
pub const HOLDER: Holder = Holder {
    feature: "enquiry",
    held: &[Held::of_customer("enquiry")],
    forget: |tx, leaving| {
        store::blank(tx, &leaving.customer)?;
        Ok(Left::default())
    },
};

fn indexed(tx: &mut Tx<'_>, id: &EnquiryId) -> Done<Enquiry> {
    let enquiry = show(tx, id)?;
    put_in_index(tx, &enquiry)?;
    Ok(enquiry)
}

fn put_in_index(tx: &mut Tx<'_>, enquiry: &Enquiry) -> Done<()> {
    match enquiry.found_as(tx.studio.country) {
        Some((hit, words)) => search::usecase::index(tx, hit, &words),
        None => search::usecase::forget(tx, enquiry.id.as_str()),
    }
}

/// Indexes callers again whose search words were made by other rules.
pub fn index_anew(tx: &mut Tx<'_>) -> Done<()> {
    for id in search::usecase::outdated(tx, "enquiry")? {
        if let Some(enquiry) = store::find(tx, &EnquiryId::new(id))? {
            put_in_index(tx, &enquiry)?;
        }
    }
    Ok(())
}
