//! Times for signed work, with everything that a person needs to choose one.

use std::collections::BTreeMap;

use baywright_domain::id::{BayId, PersonId, QuoteId};
use baywright_domain::schedule::PlacedStep;
use baywright_domain::schedule::stays::Visit;

use super::{Car, Names};
use crate::booking::usecase::{Booking, Offer, Question, Suggestion, availability, of_quote};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::visit::usecase::Head;
use crate::{agreement, visit};

/// Request for times that suit a person.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The times that are searched.
    pub question: Question,
    /// Limits the times to those with a stay in this bay.
    pub bay: Option<BayId>,
    /// Limits the times to those at which this person does some of the work.
    pub person: Option<PersonId>,
}

/// Times for signed work.
#[derive(Debug, Clone)]
pub struct Offered {
    /// The car and its customer.
    pub car: Car,
    /// Number of the quote.
    pub number: String,
    /// The current booking of the work, if it has one.
    pub booking: Option<Booking>,
    /// The times, limited to what was asked for, with reasons and alternatives.
    pub offer: Offer,
    /// Number of times that were found before the limits to one bay and one person.
    pub found: usize,
    /// Names of the services that an alternative leaves out, by their codes.
    pub services: BTreeMap<String, String>,
    /// Names of bays, people and steps.
    pub names: Names,
}

/// Reads the times for a quote's signed work.
///
/// # Errors
/// As [`availability`].
pub fn offered(tx: &mut Tx<'_>, quote: &QuoteId, asked: &Asked) -> Done<Offered> {
    let mut offer = availability(tx, quote, asked.question)?;
    let found = offer.times.len();
    offer.times.retain(|time| asked.suits(&time.visit));
    let booking = of_quote(tx, quote)?;
    let head = visit::usecase::of_quotes(tx, std::slice::from_ref(quote))?.pop().map(|visit| visit.head);
    let number = head.as_ref().map(|head| head.number.clone()).unwrap_or_default();
    let car = match (&booking, head) {
        (Some(booking), _) => Car::of(tx, booking),
        (None, head) => unbooked(quote, head),
    };
    let leaves_out = |suggestion: &Suggestion| matches!(suggestion, Suggestion::Without(..));
    let mut services = BTreeMap::new();
    if offer.suggestions.iter().any(leaves_out) {
        let menu = agreement::usecase::agreed(tx, quote)?.quote.menu;
        services.extend(menu.services.into_iter().map(|service| (service.code.to_string(), service.name)));
    }
    Ok(Offered { car, number, booking, offer, found, services, names: Names::read(tx)? })
}

/// The car of a quote, and the number of the quote, for a page that can't offer times.
///
/// # Errors
/// `NotFound` if the shop has no such quote.
pub fn place_of(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<(Car, String)> {
    let number = crate::quote::usecase::head(tx, quote)?.number;
    let head = visit::usecase::of_quotes(tx, std::slice::from_ref(quote))?.pop().map(|visit| visit.head);
    Ok((unbooked(quote, head), number))
}

fn unbooked(quote: &QuoteId, head: Option<Head>) -> Car {
    let head = head.map(|head| (head.vehicle_name, head.registration, head.customer_name));
    let (vehicle, registration, customer) = head.unwrap_or_default();
    Car { booking: None, quote: quote.clone(), vehicle, registration, customer, promised: None }
}

impl Asked {
    /// Whether a time has the bay and the person that are asked for.
    fn suits(&self, visit: &Visit) -> bool {
        let works = |who: &PersonId, step: &PlacedStep| {
            [step.leads(), step.helps()].into_iter().flatten().any(|one| one == who.as_str())
        };
        self.bay.as_ref().is_none_or(|bay| visit.stays.iter().any(|stay| stay.bay == bay.as_str()))
            && self.person.as_ref().is_none_or(|who| visit.steps.iter().any(|step| works(who, step)))
    }
}
