//! Reads visits.

mod history;

use std::collections::{BTreeMap, BTreeSet};

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BookingId, CustomerId, InvoiceId, JobId, QuoteId, VehicleId};
use baywright_domain::inspection::InspectionState;
use baywright_domain::invoice::State;
use baywright_domain::money::Money;
use baywright_domain::quote::RevisionState;
use baywright_domain::variation::VariationState;
use baywright_domain::visit::{Bill, Booked, Facts, Next, Stage, VisitGroup, Work};
use chrono::NaiveDate;

use super::store;
use crate::booking::usecase::Booking;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::search::usecase::Hit;
use crate::{booking, job};

pub use history::{Event, MOST_EVENTS, Told, show};

/// Filter of a list of visits.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Only those of one customer.
    pub customer: Option<CustomerId>,
    /// Only those of one vehicle.
    pub vehicle: Option<VehicleId>,
    /// Only those of one group.
    pub group: Option<VisitGroup>,
}

/// Quote, customer and vehicle of a visit.
#[derive(Debug, Clone)]
pub struct Head {
    /// Id of the quote, which is the id of the visit.
    pub quote: QuoteId,
    /// Number of the quote.
    pub number: String,
    /// Id of the customer.
    pub customer: CustomerId,
    /// Name of the customer.
    pub customer_name: String,
    /// Id of the vehicle.
    pub vehicle: VehicleId,
    /// What people call the car.
    pub vehicle_name: String,
    /// Its registration.
    pub registration: Option<String>,
    /// Time when the quote was created.
    pub created_at: UtcTime,
}

/// The job of a visit.
#[derive(Debug, Clone)]
pub struct JobSeen {
    /// The job's id.
    pub id: JobId,
    /// Progress of the work.
    pub work: Work,
    /// Number of steps that are finished or removed.
    pub settled: usize,
    /// Number of steps.
    pub steps: usize,
}

/// The invoice of a visit.
#[derive(Debug, Clone)]
pub struct InvoiceSeen {
    /// The invoice's id.
    pub id: InvoiceId,
    /// Its number, if it is issued.
    pub number: Option<String>,
    /// Its state.
    pub state: State,
    /// Last day to pay in time, if it is issued.
    pub due_on: Option<NaiveDate>,
    /// What is to be paid.
    pub payable: Money,
    /// Unpaid amount.
    pub open: Money,
}

/// One car's stay in its current state.
#[derive(Debug, Clone)]
pub struct Visit {
    /// Quote, customer and vehicle.
    pub head: Head,
    /// Current state of the latest revision.
    pub quote_state: RevisionState,
    /// Total of the required lines of the latest revision, if it was sent.
    pub payable: Option<Money>,
    /// The booking that counts, as `counting` chooses it.
    pub booking: Option<Booking>,
    /// The job, if the car has come.
    pub job: Option<JobSeen>,
    /// The invoice that counts, as `billing` chooses it.
    pub invoice: Option<InvoiceSeen>,
    /// The stage that it has reached.
    pub stage: Stage,
    /// What must happen next, or how the stay ended.
    pub next: Next,
}

/// One page of the shop's visits, newest first.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Visit>> {
    let page = paging.page(store::page(tx, wanted, paging)?, |head| Mark::of_id(head.quote.as_str()));
    let Slice { items, next, prev, total } = page;
    Ok(Slice { items: with_facts(tx, items)?, next, prev, total })
}

/// Visits of the given quotes, as far as they exist, the oldest quote first.
pub fn of_quotes(tx: &mut Tx<'_>, quotes: &[QuoteId]) -> Done<Vec<Visit>> {
    let heads = store::heads(tx, quotes)?;
    with_facts(tx, heads)
}

/// Visits that a search leads to, newest first and at most `most`: those of the quotes, invoices, customers and
/// vehicles that were found. Bookings and jobs have no name and no number, so they are found with their visit.
pub fn of_hits(tx: &mut Tx<'_>, hits: &[Hit], most: i64) -> Done<Vec<Visit>> {
    let of =
        |kind: &str| -> Vec<String> { hits.iter().filter(|hit| hit.kind == kind).map(|hit| hit.id.clone()).collect() };
    let known = store::Records {
        quotes: of("quote"),
        invoices: of("invoice"),
        customers: of("customer"),
        vehicles: of("vehicle"),
    };
    let quotes = store::of_records(tx, known, most)?;
    let mut visits = of_quotes(tx, &quotes)?;
    visits.reverse();
    Ok(visits)
}

/// The visit of one quote, without its events.
///
/// # Errors
/// `NotFound` if the shop has no such quote.
fn of_quote(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Visit> {
    let found = of_quotes(tx, std::slice::from_ref(quote))?.pop();
    Ok(found.ok_or_else(|| Refused::not_found("visit"))?)
}

/// Facts about several quotes, by quote.
struct Known {
    states: BTreeMap<QuoteId, Vec<RevisionState>>,
    payable: BTreeMap<QuoteId, Money>,
    bookings: BTreeMap<QuoteId, Vec<Booking>>,
    unanswered: BTreeMap<QuoteId, VariationState>,
    invoices: BTreeMap<QuoteId, Vec<InvoiceSeen>>,
    being_inspected: BTreeSet<VehicleId>,
}

fn known(tx: &mut Tx<'_>, heads: &[Head]) -> Done<Known> {
    let quotes: Vec<QuoteId> = heads.iter().map(|head| head.quote.clone()).collect();
    let (mut states, mut payable) = (BTreeMap::<QuoteId, Vec<RevisionState>>::new(), BTreeMap::new());
    for revision in store::revisions(tx, &quotes)? {
        // Each later revision replaces the one before.
        match revision.payable {
            Some(sum) => payable.insert(revision.quote.clone(), sum),
            None => payable.remove(&revision.quote),
        };
        states.entry(revision.quote).or_default().push(revision.state);
    }
    let mut bookings = BTreeMap::<QuoteId, Vec<Booking>>::new();
    for booking in booking::usecase::of_quotes(tx, &quotes)? {
        bookings.entry(booking.quote.clone()).or_default().push(booking);
    }
    let mut unanswered = BTreeMap::new();
    for (quote, _, state) in store::variations(tx, &quotes)? {
        // A variation that was sent counts before one that is a draft.
        if state == VariationState::Sent || (state == VariationState::Draft && !unanswered.contains_key(&quote)) {
            unanswered.insert(quote, state);
        }
    }
    let mut invoices = BTreeMap::<QuoteId, Vec<InvoiceSeen>>::new();
    for (quote, invoice) in store::invoices(tx, &quotes)? {
        invoices.entry(quote).or_default().push(invoice);
    }
    let vehicles: Vec<VehicleId> = heads.iter().map(|head| head.vehicle.clone()).collect();
    let being_inspected = store::being_inspected(tx, &vehicles)?.into_iter().collect();
    Ok(Known { states, payable, bookings, unanswered, invoices, being_inspected })
}

/// Adds facts and the next act to the heads.
fn with_facts(tx: &mut Tx<'_>, heads: Vec<Head>) -> Done<Vec<Visit>> {
    if heads.is_empty() {
        return Ok(Vec::new());
    }
    let mut known = known(tx, &heads)?;
    let mut booked: BTreeMap<QuoteId, Booking> = heads
        .iter()
        .filter_map(|head| Some((head.quote.clone(), counting(tx, known.bookings.remove(&head.quote)?)?)))
        .collect();
    let come = |booking: &&Booking| booking.state.has_come() || booking.state == BookingState::HandedOver;
    let come: Vec<BookingId> = booked.values().filter(come).map(|booking| booking.id.clone()).collect();
    let mut jobs = job::usecase::working(tx, &come)?;
    let (today, now) = (tx.today()?, tx.now.datetime());
    let mut visits = Vec::with_capacity(heads.len());
    for head in heads {
        let states = known.states.remove(&head.quote).unwrap_or_default();
        let booking = booked.remove(&head.quote);
        let job = booking.as_ref().and_then(|booking| jobs.remove(&booking.id)).map(|job| JobSeen {
            work: Work::of(&job.rules, now),
            settled: job.rules.steps.iter().filter(|step| step.state.is_settled()).count(),
            steps: job.rules.steps.len(),
            id: job.id,
        });
        let invoice = known.invoices.remove(&head.quote).and_then(billing);
        let facts = Facts {
            enquiry: None,
            inspection: known.being_inspected.contains(&head.vehicle).then_some(InspectionState::Draft),
            quote: states.last().copied(),
            signed: states.contains(&RevisionState::Signed),
            booking: booking.as_ref().map(booked_as),
            work: job.as_ref().map(|job| job.work),
            variation: known.unanswered.remove(&head.quote),
            invoice: invoice
                .as_ref()
                .map(|invoice| Bill { state: invoice.state, overdue: invoice.due_on.is_some_and(|day| day < today) }),
        };
        visits.push(Visit {
            quote_state: states.last().copied().unwrap_or(RevisionState::Draft),
            payable: known.payable.remove(&head.quote),
            stage: facts.stage(),
            next: facts.next_act(),
            booking,
            job,
            invoice,
            head,
        });
    }
    Ok(visits)
}

/// The booking that counts: the current one, or else the latest one that was cancelled after it was agreed, or else the
/// latest no-show; each in its current state.
fn counting(tx: &Tx<'_>, bookings: Vec<Booking>) -> Option<Booking> {
    let rank = |booking: &Booking| match booking.state {
        BookingState::NoShow => Some(0),
        BookingState::Cancelled => booking.booked_at.map(|_| 1),
        _ => Some(2),
    };
    let at_now = bookings.into_iter().map(|booking| Booking { state: booking.state_at(tx.now), ..booking });
    // The later of two with the same rank.
    at_now
        .filter_map(|booking| rank(&booking).map(|rank| (rank, booking)))
        .max_by_key(|(rank, _)| *rank)
        .map(|(_, one)| one)
}

fn booked_as(booking: &Booking) -> Booked {
    let deposit_due = booking.deposit.is_some() && booking.deposit_received_at.is_none();
    Booked { state: booking.state, fits: booking.fits, deposit_due }
}

/// The invoice that counts: the one that was not credited, or else the latest credited one.
fn billing(mut invoices: Vec<InvoiceSeen>) -> Option<InvoiceSeen> {
    let counts = invoices.iter().position(|invoice| invoice.state != State::Credited);
    match counts {
        Some(at) => Some(invoices.swap_remove(at)),
        None => invoices.pop(),
    }
}
