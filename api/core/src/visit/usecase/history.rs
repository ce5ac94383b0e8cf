//! Everything that happened in a visit, from the shop's log.

use std::collections::BTreeMap;

use baywright_domain::id::{BookingId, EnquiryId, InspectionId, InvoiceId, MessageId, PaymentId, QuoteId, VariationId};

use super::{Visit, of_quote, store};
use crate::platform::clock::UtcTime;
use crate::platform::db::RowId;
use crate::platform::fail::Done;
use crate::platform::identity::Role;
use crate::platform::record;
use crate::platform::tx::Tx;
use crate::{booking, job, people};

/// Maximum number of events of a visit that are returned, the latest ones.
pub const MOST_EVENTS: i64 = 500;

/// Days before the quote from which on an inspection of the vehicle belongs to the visit.
const INSPECTED_BEFORE_DAYS: i64 = 30;

/// Minutes of a day.
const DAY_MINUTES: i64 = 24 * 60;

/// An event of a visit.
#[derive(Debug, Clone)]
pub struct Event {
    /// Time of the event.
    pub at: UtcTime,
    /// Name of the event in the log, such as `quote.sent`.
    pub action: String,
    /// Kind of the record that it happened to.
    pub subject_kind: String,
    /// Id of the record that the event happened to.
    pub subject_id: String,
    /// Kind of actor: `PERSON`, `CUSTOMER`, `CLOCKWORK` or `OPERATOR`.
    pub actor_kind: String,
    /// Name of the person who did it; `None` if it was somebody else.
    pub person: Option<String>,
}

/// A visit with everything that happened.
#[derive(Debug, Clone)]
pub struct Told {
    /// The visit in its current state.
    pub visit: Visit,
    /// Enquiries that it began with.
    pub enquiries: Vec<EnquiryId>,
    /// Inspections of the vehicle from shortly before the quote until the hand-over.
    pub inspections: Vec<InspectionId>,
    /// Variations of the quote, the first one first.
    pub variations: Vec<VariationId>,
    /// Payments of its invoices.
    pub payments: Vec<PaymentId>,
    /// Mails about any of its records.
    pub messages: Vec<MessageId>,
    /// Events, the earliest first; the latest [`MOST_EVENTS`].
    pub events: Vec<Event>,
}

/// Kinds of records that accountants may read, whose events they see.
const ABOUT_MONEY: [&str; 4] = ["quote", "variation", "invoice", "payment"];

/// The visit of a quote, with its events. Accountants get the events about money, and no mails, enquiries or inspections.
///
/// # Errors
/// `NotFound` if the shop has no such quote.
pub fn show(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<Told> {
    let visit = of_quote(tx, quote)?;
    let one = std::slice::from_ref(quote);
    let enquiries = store::enquiries(tx, &visit.head.customer, quote)?;
    let ended = visit.booking.as_ref().and_then(|booking| booking.handed_over_at).unwrap_or(tx.now);
    let began = visit.head.created_at.plus_minutes(-INSPECTED_BEFORE_DAYS * DAY_MINUTES);
    let inspections = store::inspections(tx, &visit.head.vehicle, began, ended)?;
    let variations: Vec<VariationId> = store::variations(tx, one)?.into_iter().map(|(_, id, _)| id).collect();
    let bookings: Vec<BookingId> = booking::usecase::of_quotes(tx, one)?.into_iter().map(|one| one.id).collect();
    let jobs = job::usecase::working(tx, &bookings)?;
    let invoices: Vec<InvoiceId> = store::invoices(tx, one)?.into_iter().map(|(_, invoice)| invoice.id).collect();
    let payments = store::payments(tx, &invoices)?;
    let mut subjects = vec![quote.to_string()];
    subjects.extend(enquiries.iter().map(ToString::to_string));
    subjects.extend(inspections.iter().map(ToString::to_string));
    subjects.extend(variations.iter().map(ToString::to_string));
    subjects.extend(bookings.iter().map(ToString::to_string));
    subjects.extend(jobs.values().map(|job| job.id.to_string()));
    subjects.extend(invoices.iter().map(ToString::to_string));
    subjects.extend(payments.iter().map(ToString::to_string));
    let mut messages = store::messages(tx, &subjects)?;
    subjects.extend(messages.iter().map(ToString::to_string));
    let mut events = events(tx, &subjects)?;
    let (mut enquiries, mut inspections) = (enquiries, inspections);
    if tx.actor.role() == Some(Role::Accountant) {
        events.retain(|event| ABOUT_MONEY.contains(&event.subject_kind.as_str()));
        (messages, enquiries, inspections) = (Vec::new(), Vec::new(), Vec::new());
    }
    Ok(Told { visit, enquiries, inspections, variations, payments, messages, events })
}

fn events(tx: &mut Tx<'_>, subjects: &[String]) -> Done<Vec<Event>> {
    let rows = record::about(tx, subjects, MOST_EVENTS)?;
    let people: BTreeMap<String, String> =
        people::usecase::everyone(tx)?.into_iter().map(|one| (one.id.to_string(), one.details.name)).collect();
    let mut events = Vec::with_capacity(rows.len());
    for row in rows {
        events.push(Event {
            at: RowId::of("record", &row.id).read("at", row.at)?,
            person: people.get(&row.actor_id).cloned(),
            action: row.action,
            subject_kind: row.subject_kind,
            subject_id: row.subject_id,
            actor_kind: row.actor_kind,
        });
    }
    Ok(events)
}
