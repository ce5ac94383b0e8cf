//! Use cases of a new car.

mod caller;
mod car;
mod send;
mod walk_round;
mod work;

use std::collections::BTreeSet;

use baywright_domain::enquiry::EnquiryState;
use baywright_domain::id::{CustomerId, EnquiryId, QuoteId, VehicleId};
use baywright_domain::inspection::ConditionClass;
use baywright_domain::quote::RevisionState;

pub use self::caller::{Call, begin, correct};
pub use self::car::{add_car, choose_car, correct_car};
pub use self::send::{Sending, send};
pub use self::walk_round::{Finding, Noted, decide_paint, note};
pub use self::work::{MenuPrice, Work, WorkPrice, choose_work, draft_of, menu_prices, work_price};
use crate::customer::usecase::{self as customer, Customer};
use crate::enquiry::usecase::{self as enquiry, Enquiry, Wanted};
use crate::inspection::usecase::Inspection;
use crate::platform::fail::Done;
use crate::platform::paging::Paging;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::usecase::{self as quote, Shown};
use crate::vehicle::usecase::{self as vehicle, Vehicle};

/// Maximum number of enquiries without a quote that are listed as begun.
const MOST_BEGUN: i64 = 12;

/// Maximum number of drafts of quotes, and of enquiries with a quote, that are read for that list.
const MOST_DRAFTS: i64 = 24;

/// A new car with the records of the steps so far.
#[derive(Debug, Clone)]
pub struct NewCar {
    /// The enquiry, which ties the others together.
    pub enquiry: Enquiry,
    /// The customer; `None` if the caller is not a customer yet.
    pub customer: Option<Customer>,
    /// The car, once it is chosen.
    pub vehicle: Option<Vehicle>,
    /// The walk-round, if there is one.
    pub walk_round: Option<Inspection>,
    /// The quote, once work is chosen.
    pub quote: Option<Shown>,
}

impl NewCar {
    /// Whether the quote is no longer a draft, so that its steps are done.
    pub fn is_sent(&self) -> bool {
        self.quote.as_ref().is_some_and(|shown| shown.revision.state != RevisionState::Draft)
    }

    /// The customer.
    ///
    /// # Errors
    /// `Conflict` if the caller is not a customer yet.
    pub fn customer(&self) -> Result<&Customer, Refused> {
        self.customer.as_ref().ok_or_else(|| missing("Write down who called first. Then choose the car."))
    }

    /// The car.
    ///
    /// # Errors
    /// `Conflict` if none is chosen yet.
    pub fn vehicle(&self) -> Result<&Vehicle, Refused> {
        self.vehicle.as_ref().ok_or_else(|| missing("Choose the car first. Then you can continue."))
    }

    /// The quote.
    ///
    /// # Errors
    /// `Conflict` if no work is chosen yet.
    pub fn quote(&self) -> Result<&Shown, Refused> {
        self.quote.as_ref().ok_or_else(|| missing("Choose the work first. Then the quote can be sent."))
    }

    /// The condition of the car: by its walk-round, else as the quote's draft says; `None` if neither says.
    pub fn condition(&self) -> Option<ConditionClass> {
        let found = self.walk_round.as_ref().map(|inspection| inspection.judged.condition.class);
        found.or_else(|| self.quote.as_ref()?.revision.draft.condition.map(|word| word.0))
    }

    /// Version of the walk-round; 0 if there is none yet.
    pub fn walk_round_version(&self) -> i64 {
        self.walk_round.as_ref().map_or(0, |inspection| inspection.version)
    }

    /// Version of the quote; 0 if there is none yet.
    pub fn quote_version(&self) -> i64 {
        self.quote.as_ref().map_or(0, |shown| shown.quote.version)
    }
}

fn missing(detail: &str) -> Refused {
    Refused::conflict("step-missing", detail)
}

/// The new car of an enquiry.
///
/// # Errors
/// `NotFound` if the shop has no such enquiry.
pub fn show(tx: &mut Tx<'_>, id: &EnquiryId) -> Done<NewCar> {
    let enquiry = enquiry::show(tx, id)?;
    let customer = match &enquiry.details.customer {
        Some(id) => Some(customer::show(tx, id)?),
        None => None,
    };
    let quote = match &enquiry.quote {
        Some(id) => Some(quote::show(tx, id)?),
        None => None,
    };
    let car = quote.as_ref().map(|shown| &shown.quote.vehicle).or(enquiry.details.vehicle.as_ref());
    let vehicle = match car {
        Some(id) => Some(vehicle::show(tx, id)?),
        None => None,
    };
    let walk_round = match &vehicle {
        Some(vehicle) => walk_round::find(tx, &enquiry, &vehicle.id, quote.as_ref())?,
        None => None,
    };
    Ok(NewCar { enquiry, customer, vehicle, walk_round, quote })
}

/// A new car that was begun and whose quote was not sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Begun {
    /// Id of the enquiry.
    pub id: EnquiryId,
    /// Name of the customer or the caller.
    pub who: String,
    /// Name of the car; empty if none is chosen yet.
    pub car: String,
    /// Outcome that the caller wants.
    pub wish: String,
}

/// New cars that were begun and whose quotes were not sent, newest first.
pub fn begun(tx: &mut Tx<'_>) -> Done<Vec<Begun>> {
    let of = |state| Wanted { states: vec![state], customer: None };
    let mut enquiries = enquiry::list(tx, &of(EnquiryState::Open), &Paging::first(MOST_BEGUN))?.items;
    let drafts = quote::Wanted { states: vec![RevisionState::Draft], ..quote::Wanted::default() };
    let drafts: BTreeSet<QuoteId> =
        quote::list(tx, &drafts, &Paging::first(MOST_DRAFTS))?.items.into_iter().map(|quote| quote.id).collect();
    if !drafts.is_empty() {
        let quoted = enquiry::list(tx, &of(EnquiryState::Quoted), &Paging::first(MOST_DRAFTS))?.items;
        enquiries.extend(quoted.into_iter().filter(|one| one.quote.as_ref().is_some_and(|id| drafts.contains(id))));
    }
    enquiries.sort_by(|a, b| b.id.cmp(&a.id));
    let customers: Vec<CustomerId> = enquiries.iter().filter_map(|one| one.details.customer.clone()).collect();
    let vehicles: Vec<VehicleId> = enquiries.iter().filter_map(|one| one.details.vehicle.clone()).collect();
    let (customers, vehicles) = (customer::of_ids(tx, &customers)?, vehicle::of_ids(tx, &vehicles)?);
    let begun = enquiries.into_iter().map(|one| {
        let customer = customers.iter().find(|known| Some(&known.id) == one.details.customer.as_ref());
        let caller = one.details.caller.as_ref().map(|caller| caller.name.clone());
        let car = vehicles.iter().find(|known| Some(&known.id) == one.details.vehicle.as_ref());
        Begun {
            who: customer.map(|known| known.details.name.clone()).or(caller).unwrap_or_default(),
            car: car.map_or_else(|| one.details.vehicle_words.clone(), Vehicle::label),
            id: one.id,
            wish: one.details.wish,
        }
    });
    Ok(begun.collect())
}

/// Refuses a form that was made before somebody else made the record, which is seen as version 0.
fn unchanged(seen: Seen, current: i64) -> Done<()> {
    Ok(seen.check(current)?)
}
