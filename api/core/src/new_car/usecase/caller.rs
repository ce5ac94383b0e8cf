//! The first step: who called, and what they want.

use baywright_domain::customer::CustomerKind;
use baywright_domain::enquiry::Channel;
use baywright_domain::id::{CustomerId, EnquiryId, VehicleId};
use chrono::NaiveDate;

use crate::customer::usecase::{self as customer, Customer, GivenConsent};
use crate::enquiry::usecase::{self as enquiry, Caller, Details};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;

/// A call as the desk writes it down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    /// The customer, if they are known.
    pub customer: Option<CustomerId>,
    /// The car, if it is a known one of the customer.
    pub vehicle: Option<VehicleId>,
    /// Contact details; `None` for a known customer, whose record has them.
    pub caller: Option<Caller>,
    /// Kind of customer that a caller becomes.
    pub kind: CustomerKind,
    /// Channel of the call.
    pub channel: Channel,
    /// Outcome that the caller wants.
    pub wish: String,
    /// Date by which the caller wants the work done.
    pub wanted_by: Option<NaiveDate>,
}

impl Call {
    fn details(&self) -> Details {
        Details {
            channel: self.channel,
            customer: self.customer.clone(),
            caller: self.caller.clone(),
            vehicle: self.vehicle.clone(),
            vehicle_words: String::new(),
            wish: self.wish.clone(),
            wanted_by: self.wanted_by,
            notes: String::new(),
        }
    }
}

/// Records a call; a caller who is not known becomes a customer.
///
/// # Errors
/// `Invalid` if nobody could answer the caller; `Conflict` with a question if a similar customer is known.
pub fn begin(tx: &mut Tx<'_>, call: &Call) -> Done<EnquiryId> {
    let taken = enquiry::take(tx, &call.details())?;
    if call.customer.is_none() {
        added(tx, &taken.id, Seen(taken.version), call.kind)?;
    }
    Ok(taken.id)
}

/// Makes the caller a customer. Whether they are known already is asked then, so the warning about it is not repeated.
fn added(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, kind: CustomerKind) -> Done<()> {
    enquiry::add_customer(tx, id, seen, kind)?;
    tx.warnings.retain(|warning| warning.code != "known-caller");
    Ok(())
}

/// Corrects a call and the customer's contact details. A caller who is not a customer yet becomes one.
///
/// `seen` is the version of the enquiry, `seen_customer` that of the customer, who may have none yet.
///
/// # Errors
/// `ChangedMeanwhile` if either was changed; those of [`begin`].
pub fn correct(tx: &mut Tx<'_>, id: &EnquiryId, (seen, seen_customer): (Seen, Seen), call: &Call) -> Done<()> {
    let before = enquiry::show(tx, id)?;
    seen.check(before.version)?;
    let known = match &before.details.customer {
        Some(id) => Some(customer::show(tx, id)?),
        None => None,
    };
    let caller = if known.is_some() { before.details.caller.clone() } else { call.caller.clone() };
    let details = Details {
        channel: call.channel,
        caller,
        wish: call.wish.clone(),
        wanted_by: call.wanted_by,
        ..before.details.clone()
    };
    let after = if details == before.details { before } else { enquiry::replace(tx, id, seen, &details)? };
    match (known, &call.caller) {
        (Some(known), Some(caller)) => correct_customer(tx, &known, seen_customer, caller, call.kind),
        (Some(_), None) => Ok(()),
        (None, _) => added(tx, id, Seen(after.version), call.kind),
    }
}

/// Replaces name and main contact details of a customer; everything else about them stays.
fn correct_customer(tx: &mut Tx<'_>, known: &Customer, seen: Seen, now: &Caller, kind: CustomerKind) -> Done<()> {
    let main = |all: &[String], first: Option<&String>| -> Vec<String> {
        first.into_iter().chain(all.iter().skip(1)).cloned().collect()
    };
    let details = customer::Details {
        name: now.name.clone(),
        kind,
        emails: main(&known.details.emails, now.email.as_ref()),
        phones: main(&known.details.phones, now.phone.as_ref()),
        ..known.details.clone()
    };
    if details == known.details {
        return Ok(());
    }
    let given = known.consents.iter().filter(|kept| kept.consent.withdrawn_at.is_none());
    let given: Vec<GivenConsent> =
        given.map(|kept| GivenConsent { kind: kept.consent.kind, how: kept.how.clone(), given_at: None }).collect();
    customer::replace(tx, &known.id, seen, &details, &given)?;
    Ok(())
}
