//! Visits as they are sent over HTTP.

use baywright_core::platform::clock::UtcTime;
use baywright_core::stay::usecase::Question;
use baywright_core::visit::usecase::{Event, Told, Visit};
use baywright_domain::booking::BookingState;
use baywright_domain::invoice::State as InvoiceState;
use baywright_domain::money::Currency;
use baywright_domain::quote::RevisionState;
use baywright_domain::visit::{Act, Next, Outcome, Stage, Turn};
use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::wire::{Amount, Day, Instant, Reference, Word};

/// A next act as it is sent over HTTP; the derive of the API document reads a plain name better than one with
/// parameters.
pub(crate) type ActWord = Word<Act>;
/// The person whose turn it is, as sent over HTTP.
pub(crate) type TurnWord = Word<Turn>;
/// A stage as it is sent over HTTP.
type StageWord = Word<Stage>;
/// An outcome as it is sent over HTTP.
type OutcomeWord = Word<Outcome>;
/// A quote's state as it is sent over HTTP.
type QuoteStateWord = Word<RevisionState>;
/// A booking's state as it is sent over HTTP.
type BookingStateWord = Word<BookingState>;
/// An invoice's state as it is sent over HTTP.
type InvoiceStateWord = Word<InvoiceState>;

/// Next act of a visit, or its outcome.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = VisitNext)]
pub(super) struct NextView {
    /// Act that must happen next; null if the visit has ended.
    act: Option<ActWord>,
    /// Role of the person who must act next, or the customer; null if the visit has ended.
    turn: Option<TurnWord>,
    /// Outcome of the visit; null while something has to be done.
    outcome: Option<OutcomeWord>,
    /// Act or outcome in words for people.
    #[schema(max_length = 100, example = "send the quote")]
    words: String,
}

/// Booking of a visit.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = VisitBooking)]
pub(super) struct BookingSeen {
    /// Id of the booking.
    id: Reference,
    /// State of the booking; a hold that has run out is not shown.
    state: BookingStateWord,
    /// Id of the bay that the car is in, or that it enters first.
    bay_id: Reference,
    /// Time when the car takes its first bay, RFC 3339 in UTC.
    start: Instant,
    /// Time when the work is done by its budgets, RFC 3339 in UTC.
    finish: Instant,
    /// Finish that the customer is promised, RFC 3339 in UTC.
    promised: Instant,
    /// Agreed deposit, with tax; null if there is none.
    deposit: Option<Amount>,
    /// Whether a deposit was agreed and has not been received.
    deposit_due: bool,
}

/// Job of a visit.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = VisitJob)]
pub(super) struct JobSeen {
    /// Id of the job.
    id: Reference,
    /// Number of steps.
    #[schema(minimum = 0, maximum = 1000)]
    steps_total: usize,
    /// Number of steps that are finished or removed.
    #[schema(minimum = 0, maximum = 1000)]
    steps_settled: usize,
}

/// Invoice of a visit.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = VisitInvoice)]
pub(super) struct InvoiceSeen {
    /// Id of the invoice.
    id: Reference,
    /// Number of the invoice; null before it is issued.
    #[schema(max_length = 40, example = "2026-0001")]
    number: Option<String>,
    /// State of the invoice.
    state: InvoiceStateWord,
    /// Last day to pay in time; null before the invoice is issued.
    due_on: Option<Day>,
    /// Total of the invoice, with tax.
    payable: Amount,
    /// Unpaid amount of the invoice.
    open: Amount,
}

/// Visit as shown in a list: one car's stay.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = VisitHead)]
pub(crate) struct VisitHead {
    /// Id of the quote, which is the id of the visit too.
    id: Reference,
    /// Number of the quote.
    #[schema(max_length = 40, example = "Q-2026-0001")]
    quote_number: String,
    /// State of the quote's latest revision.
    quote_state: QuoteStateWord,
    /// Total of the required lines of the latest revision, with tax; null before it is sent.
    payable: Option<Amount>,
    /// Id of the customer.
    customer_id: Reference,
    /// Name of the customer.
    #[schema(max_length = 200)]
    customer_name: String,
    /// Id of the vehicle.
    vehicle_id: Reference,
    /// Name of the vehicle as people call it.
    #[schema(max_length = 400)]
    vehicle_name: String,
    /// Registration of the vehicle; null if it has none.
    #[schema(max_length = 40)]
    registration: Option<String>,
    /// Booking that counts: the current one, or else the latest that was cancelled or a no-show; null without one.
    booking: Option<BookingSeen>,
    /// Job of the booking; null until the car has come.
    job: Option<JobSeen>,
    /// Invoice that counts: the one that was not credited, or else the latest credited one; null without one.
    invoice: Option<InvoiceSeen>,
    /// Stage that the visit has reached.
    stage: StageWord,
    /// Next act, or the outcome of the visit.
    next: NextView,
    /// Time when the quote was created, RFC 3339 in UTC.
    created_at: Instant,
}

/// Visit: one car's stay with everything that happened.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Visit)]
pub(super) struct VisitView {
    /// Fields of the visit that lists also show.
    #[serde(flatten)]
    head: VisitHead,
    /// Ids of the enquiries that the quote was made from.
    #[schema(max_items = 1000)]
    enquiry_ids: Vec<Reference>,
    /// Ids of the vehicle's inspections from 30 days before the quote until the hand-over.
    #[schema(max_items = 1000)]
    inspection_ids: Vec<Reference>,
    /// Ids of the variations, the first one first.
    #[schema(max_items = 1000)]
    variation_ids: Vec<Reference>,
    /// Ids of the payments of the invoices.
    #[schema(max_items = 1000)]
    payment_ids: Vec<Reference>,
    /// Ids of the mails about any of these records.
    #[schema(max_items = 10000)]
    message_ids: Vec<Reference>,
    /// Questions that the customer asked on the page of the stay, the first one first.
    #[schema(max_items = 40)]
    questions: Vec<QuestionView>,
    /// Everything that happened, the earliest first; the latest 500.
    #[schema(max_items = 500)]
    events: Vec<EventView>,
}

/// Question that a customer asked on the page of the stay.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = StayQuestion)]
pub(super) struct QuestionView {
    /// Id of the question.
    id: Reference,
    /// Text of the question; empty once the customer is erased.
    #[schema(max_length = 1000)]
    text: String,
    /// Time when it was asked, RFC 3339 in UTC.
    asked_at: Instant,
}

/// Event of a visit.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = VisitEvent)]
pub(super) struct EventView {
    /// Time of the event, RFC 3339 in UTC.
    at: Instant,
    /// Name of the event in the shop's log.
    #[schema(max_length = 60, example = "quote.sent")]
    action: String,
    /// Name of the event in words for people.
    #[schema(max_length = 60, example = "quote sent")]
    words: String,
    /// Kind of record that it happened to.
    #[schema(max_length = 40, example = "quote")]
    subject_kind: String,
    /// Id of the record that the event happened to.
    subject_id: Reference,
    /// Kind of actor: `PERSON`, `CUSTOMER`, `CLOCKWORK` for what is done by time, or `OPERATOR` for the command line.
    #[schema(max_length = 20, example = "PERSON")]
    actor_kind: String,
    /// Name of the person who did it; null for other actors.
    #[schema(max_length = 200)]
    person_name: Option<String>,
}

impl From<Next> for NextView {
    fn from(next: Next) -> Self {
        Self {
            act: next.act().map(Word),
            turn: next.act().map(|act| Word(act.by())),
            outcome: next.outcome().map(Word),
            words: next.words().to_owned(),
        }
    }
}

impl VisitHead {
    /// Converts the visit, with its amounts in the given currency.
    pub(crate) fn of(visit: &Visit, currency: Currency) -> Self {
        let head = &visit.head;
        let booking = visit.booking.as_ref().map(|booking| BookingSeen {
            id: Reference::from(&booking.id),
            state: Word(booking.state),
            bay_id: Reference::from(&booking.place.bay),
            start: Instant(UtcTime::from_minute(booking.place.starts)),
            finish: Instant(UtcTime::from_minute(booking.place.finishes)),
            promised: Instant(UtcTime::from_minute(booking.place.promised)),
            deposit: booking.deposit.map(|deposit| Amount::of(deposit, currency)),
            deposit_due: booking.deposit.is_some() && booking.deposit_received_at.is_none(),
        });
        let job = visit.job.as_ref().map(|job| JobSeen {
            id: Reference::from(&job.id),
            steps_total: job.steps,
            steps_settled: job.settled,
        });
        let invoice = visit.invoice.as_ref().map(|invoice| InvoiceSeen {
            id: Reference::from(&invoice.id),
            number: invoice.number.clone(),
            state: Word(invoice.state),
            due_on: invoice.due_on.map(Day),
            payable: Amount::of(invoice.payable, currency),
            open: Amount::of(invoice.open, currency),
        });
        Self {
            id: Reference::from(&head.quote),
            quote_number: head.number.clone(),
            quote_state: Word(visit.quote_state),
            payable: visit.payable.map(|sum| Amount::of(sum, currency)),
            customer_id: Reference::from(&head.customer),
            customer_name: head.customer_name.clone(),
            vehicle_id: Reference::from(&head.vehicle),
            vehicle_name: head.vehicle_name.clone(),
            registration: head.registration.clone(),
            booking,
            job,
            invoice,
            stage: Word(visit.stage),
            next: visit.next.into(),
            created_at: Instant(head.created_at),
        }
    }
}

impl VisitView {
    /// Converts the visit with its events.
    pub(super) fn of(told: Told, questions: Vec<Question>, currency: Currency) -> Self {
        Self {
            head: VisitHead::of(&told.visit, currency),
            enquiry_ids: told.enquiries.iter().map(Reference::from).collect(),
            inspection_ids: told.inspections.iter().map(Reference::from).collect(),
            variation_ids: told.variations.iter().map(Reference::from).collect(),
            payment_ids: told.payments.iter().map(Reference::from).collect(),
            message_ids: told.messages.iter().map(Reference::from).collect(),
            questions: questions.into_iter().map(QuestionView::from).collect(),
            events: told.events.into_iter().map(EventView::from).collect(),
        }
    }
}

impl From<Question> for QuestionView {
    fn from(question: Question) -> Self {
        Self { id: Reference::from(&question.id), text: question.text, asked_at: Instant(question.asked_at) }
    }
}

impl From<Event> for EventView {
    fn from(event: Event) -> Self {
        Self {
            at: Instant(event.at),
            words: event.action.replace(['.', '-', '_'], " "),
            action: event.action,
            subject_kind: event.subject_kind,
            subject_id: Reference::from(&event.subject_id),
            actor_kind: event.actor_kind,
            person_name: event.person,
        }
    }
}
