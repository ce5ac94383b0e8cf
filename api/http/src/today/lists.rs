//! Short lists of today as they are sent over HTTP.

use baywright_core::today::usecase::{Entry, ShortList};
use baywright_domain::money::Currency;
use baywright_domain::visit::TodayList;
use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::wire::{Amount, Day, Instant, Reference, Word};
use crate::visit::{ActWord, TurnWord};

/// A kind of list as it is sent over HTTP.
type ListWord = Word<TodayList>;

/// Short list of things that wait for somebody.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodayShortList)]
pub(super) struct ListView {
    /// Kind of the list: to answer, to sign, to book, deposit due, to invoice, overdue or mail failed.
    kind: ListWord,
    /// Entries of the list, the oldest first.
    #[schema(max_items = 20)]
    items: Vec<EntryView>,
    /// Whether there are more entries.
    more: bool,
}

/// Entry of a short list.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = TodayEntry)]
pub(super) struct EntryView {
    /// Kind of record that the entry is about: `quote`, `enquiry`, `invoice` or `message`.
    #[schema(max_length = 40, example = "quote")]
    about_kind: String,
    /// Id of the record that the entry is about; the visit of a quote has the same id.
    about_id: Reference,
    /// Id of the visit that the entry belongs to; null for an enquiry, a mail, and an invoice without a quote.
    visit_id: Option<Reference>,
    /// Number of the quote or invoice, or subject of the mail; empty for an enquiry.
    #[schema(max_length = 400, example = "Q-2026-0001")]
    title: String,
    /// Act that must happen next.
    act: ActWord,
    /// Role of the person who must act next, or the customer.
    turn: TurnWord,
    /// Act in words for people.
    #[schema(max_length = 100, example = "agree on a time")]
    words: String,
    /// Id of the customer; null for a mail, and for a caller who is not a customer yet.
    customer_id: Option<Reference>,
    /// Name of the customer, the caller or the recipient.
    #[schema(max_length = 200, example = "Aoife Byrne")]
    customer_name: String,
    /// Id of the vehicle; null if it is not known.
    vehicle_id: Option<Reference>,
    /// Name of the vehicle as people call it, or as the caller described it; null if it is not known.
    #[schema(max_length = 400)]
    vehicle_name: Option<String>,
    /// Registration of the vehicle; null if it has none or is not known.
    #[schema(max_length = 40)]
    registration: Option<String>,
    /// Id of the bay that is booked; null without a booking.
    bay_id: Option<Reference>,
    /// Name of the bay that is booked; null without a booking.
    #[schema(max_length = 100)]
    bay_name: Option<String>,
    /// Id of the person who is at the car or is booked for it now; null if nobody is.
    person_id: Option<Reference>,
    /// Name of the person who is at the car or is booked for it now; null if nobody is.
    #[schema(max_length = 200)]
    person_name: Option<String>,
    /// Amount with tax: the deposit if that is due, the unpaid amount of an overdue invoice, or the total of the
    /// quote's required lines; null if there is none.
    amount: Option<Amount>,
    /// Date by which the work of an enquiry is wanted or an invoice must be paid; null for other entries.
    due_on: Option<Day>,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
}

impl ListView {
    /// Converts the list, with its amounts in the given currency.
    pub(super) fn of(list: ShortList, currency: Currency) -> Self {
        let items = list.entries.into_iter().map(|entry| EntryView::of(entry, currency)).collect();
        Self { kind: Word(list.kind), items, more: list.more }
    }
}

impl EntryView {
    fn of(entry: Entry, currency: Currency) -> Self {
        let (bay_id, bay_name) = entry.bay.map(|(id, name)| (Reference::from(&id), name)).unzip();
        let (person_id, person_name) = entry.person.map(|(id, name)| (Reference::from(&id), name)).unzip();
        Self {
            about_kind: entry.about.kind().to_owned(),
            about_id: Reference::from(&entry.about.id()),
            visit_id: entry.visit.as_ref().map(Reference::from),
            title: entry.title,
            act: Word(entry.act),
            turn: Word(entry.act.by()),
            words: entry.act.label().to_owned(),
            customer_id: entry.customer.as_ref().map(Reference::from),
            customer_name: entry.customer_name,
            vehicle_id: entry.vehicle.as_ref().map(Reference::from),
            vehicle_name: entry.vehicle_name,
            registration: entry.registration,
            bay_id,
            bay_name,
            person_id,
            person_name,
            amount: entry.amount.map(|sum| Amount::of(sum, currency)),
            due_on: entry.due_on.map(Day),
            created_at: Instant(entry.created_at),
        }
    }
}
