//! Short lists of what waits for somebody now.
//!
//! Queries find the quotes that may belong to a list, and the rule for the next act decides which of them do, so that a
//! list can't disagree with the button on the visit. Enquiries, overdue invoices and failed mails are records of their
//! own.

use std::collections::{BTreeMap, BTreeSet};

use baywright_domain::enquiry::EnquiryState;
use baywright_domain::id::{BayId, CustomerId, EnquiryId, InvoiceId, MessageId, PersonId, QuoteId, VehicleId};
use baywright_domain::message::MessageState;
use baywright_domain::money::Money;
use baywright_domain::time::Minutes;
use baywright_domain::visit::{Act, Facts, TodayList};
use chrono::NaiveDate;

use crate::customer::usecase::Customer;
use crate::enquiry::usecase::Enquiry;
use crate::invoice::usecase::Invoice;
use crate::message::usecase::Message;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::today::store;
use crate::vehicle::usecase::Vehicle;
use crate::visit::usecase::Visit;
use crate::{customer, enquiry, invoice, message, vehicle, visit};

/// Maximum number of entries of a list.
pub const MOST_ENTRIES: usize = 20;

/// Number of quotes that each query reads, of which the rule takes those that belong to its list.
pub(super) const CANDIDATES: i64 = 50;

/// Period before now in which the lists look for signed work without a time, and for cars without an invoice.
pub(super) const LOOK_BACK: Minutes = Minutes::new(180 * 24 * 60);

/// The record that an entry is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum About {
    /// A quote; its visit has the same id.
    Quote(QuoteId),
    /// An enquiry.
    Enquiry(EnquiryId),
    /// An invoice.
    Invoice(InvoiceId),
    /// A mail.
    Message(MessageId),
}

impl About {
    /// Kind of record, as the log names it.
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::Quote(_) => "quote",
            Self::Enquiry(_) => "enquiry",
            Self::Invoice(_) => "invoice",
            Self::Message(_) => "message",
        }
    }

    /// Id of the record.
    pub fn id(&self) -> &str {
        match self {
            Self::Quote(id) => id.as_str(),
            Self::Enquiry(id) => id.as_str(),
            Self::Invoice(id) => id.as_str(),
            Self::Message(id) => id.as_str(),
        }
    }
}

/// Something that waits for somebody.
#[derive(Debug, Clone)]
pub struct Entry {
    /// The record that it is about.
    pub about: About,
    /// Act that must happen next.
    pub act: Act,
    /// Number of the record, or subject of the mail; empty for an enquiry.
    pub title: String,
    /// Id of the customer, if there is one.
    pub customer: Option<CustomerId>,
    /// Name of the customer, the caller or the recipient.
    pub customer_name: String,
    /// Id of the vehicle, if it is known.
    pub vehicle: Option<VehicleId>,
    /// Name of the car as people call it, or as the caller described it.
    pub vehicle_name: Option<String>,
    /// Its registration.
    pub registration: Option<String>,
    /// Id and name of the bay that is booked.
    pub bay: Option<(BayId, String)>,
    /// Id and name of the person who is at the car or is booked for it now.
    pub person: Option<(PersonId, String)>,
    /// Amount that it is about: the quote's total, the deposit, or the unpaid amount.
    pub amount: Option<Money>,
    /// Date by which the work of an enquiry is wanted, or by which an invoice should have been paid.
    pub due_on: Option<NaiveDate>,
    /// Quote of the visit that it belongs to, if there is one.
    pub visit: Option<QuoteId>,
    /// When the record was made.
    pub created_at: UtcTime,
}

/// A short list.
#[derive(Debug, Clone)]
pub struct ShortList {
    /// Kind of the list.
    pub kind: TodayList,
    /// Entries of the list, the oldest first.
    pub entries: Vec<Entry>,
    /// Whether there are more entries.
    pub more: bool,
}

/// Names that were already read for the day.
pub(super) struct Names {
    pub(super) people: BTreeMap<PersonId, String>,
    pub(super) bays: BTreeMap<BayId, String>,
    /// Person at each car that is here, by quote.
    pub(super) at_work: BTreeMap<QuoteId, PersonId>,
}

/// What waits for somebody.
#[derive(Debug, Default)]
pub(super) struct Waiting {
    /// The seven lists.
    pub(super) lists: Vec<ShortList>,
    /// Next act of each visit that was read, by quote.
    pub(super) next: BTreeMap<QuoteId, Act>,
}

/// The seven lists, and the next acts of the visits of the given quotes and of those on the lists.
pub(super) fn read(tx: &mut Tx<'_>, names: &Names, of_day: BTreeSet<QuoteId>) -> Done<Waiting> {
    let mut found: BTreeMap<TodayList, Vec<Entry>> = BTreeMap::new();
    found.insert(TodayList::ToAnswer, enquiries(tx)?);
    found.insert(TodayList::MailFailed, failed_mails(tx)?);
    let overdue = invoice::usecase::overdue(tx, None, most())?;
    let mut quotes = candidates(tx)?;
    quotes.extend(of_day);
    quotes.extend(overdue.iter().filter_map(|invoice| invoice.quote.clone()));
    let visits = visit::usecase::of_quotes(tx, &quotes.into_iter().collect::<Vec<_>>())?;
    let of_quote: BTreeMap<&QuoteId, &Visit> = visits.iter().map(|visit| (&visit.head.quote, visit)).collect();
    let unpaid = overdue.into_iter().map(|invoice| {
        let visit = invoice.quote.as_ref().and_then(|quote| of_quote.get(quote).copied());
        of_invoice(invoice, visit)
    });
    found.insert(TodayList::Overdue, unpaid.collect());
    let mut next = BTreeMap::new();
    for visit in &visits {
        let Some(act) = visit.next.act() else { continue };
        next.insert(visit.head.quote.clone(), act);
        // Every overdue invoice has an entry of its own, including invoices without a quote.
        let Some(list) = act.list().filter(|list| *list != TodayList::Overdue) else { continue };
        found.entry(list).or_default().push(of_visit(visit, act, names));
    }
    let short = TodayList::ALL.iter().map(|kind| {
        let mut entries = found.remove(kind).unwrap_or_default();
        let more = entries.len() > MOST_ENTRIES;
        entries.truncate(MOST_ENTRIES);
        ShortList { kind: *kind, entries, more }
    });
    Ok(Waiting { lists: short.collect(), next })
}

/// One more than a list shows, to know whether there are more.
fn most() -> i64 {
    i64::try_from(MOST_ENTRIES + 1).unwrap_or(i64::MAX)
}

/// The page with the oldest records.
fn oldest() -> Paging {
    Paging { turned: true, ..Paging::first(most()) }
}

/// Quotes that may belong to a list.
fn candidates(tx: &mut Tx<'_>) -> Done<BTreeSet<QuoteId>> {
    let since = tx.now.minute() - LOOK_BACK;
    let mut quotes: BTreeSet<QuoteId> = BTreeSet::new();
    quotes.extend(store::being_written(tx, CANDIDATES)?);
    quotes.extend(store::with_customer(tx, CANDIDATES)?);
    quotes.extend(store::without_time(tx, UtcTime::from_minute(since), CANDIDATES)?);
    quotes.extend(store::to_settle(tx, since, CANDIDATES)?);
    quotes.extend(store::here(tx, since, CANDIDATES)?);
    quotes.extend(store::not_billed(tx, since, CANDIDATES)?);
    Ok(quotes)
}

fn of_visit(visit: &Visit, act: Act, names: &Names) -> Entry {
    let head = &visit.head;
    let booking = visit.booking.as_ref();
    let bay = booking.map(|booking| &booking.place.bay);
    let person = names.at_work.get(&head.quote);
    Entry {
        about: About::Quote(head.quote.clone()),
        act,
        title: head.number.clone(),
        customer: Some(head.customer.clone()),
        customer_name: head.customer_name.clone(),
        vehicle: Some(head.vehicle.clone()),
        vehicle_name: Some(head.vehicle_name.clone()),
        registration: head.registration.clone(),
        bay: bay.and_then(|bay| names.bays.get(bay).map(|name| (bay.clone(), name.clone()))),
        person: person.and_then(|person| names.people.get(person).map(|name| (person.clone(), name.clone()))),
        amount: match act {
            Act::PayDeposit => booking.and_then(|booking| booking.deposit),
            _ => visit.payable,
        },
        due_on: None,
        visit: Some(head.quote.clone()),
        created_at: head.created_at,
    }
}

fn of_invoice(invoice: Invoice, visit: Option<&Visit>) -> Entry {
    let head = visit.map(|visit| &visit.head);
    Entry {
        about: About::Invoice(invoice.id),
        act: Act::Chase,
        title: invoice.number.unwrap_or_default(),
        customer: Some(invoice.customer),
        customer_name: invoice.buyer_name,
        vehicle: head.map(|head| head.vehicle.clone()),
        vehicle_name: head.map(|head| head.vehicle_name.clone()),
        registration: head.and_then(|head| head.registration.clone()),
        bay: None,
        person: None,
        amount: Some(invoice.account.open),
        due_on: invoice.due_on,
        visit: invoice.quote,
        created_at: invoice.created_at,
    }
}

fn enquiries(tx: &mut Tx<'_>) -> Done<Vec<Entry>> {
    let wanted = enquiry::usecase::Wanted { states: vec![EnquiryState::Open], customer: None };
    // A page has one entry more than the list, so nothing is left out here that the list would show.
    let open = enquiry::usecase::list(tx, &wanted, &oldest())?.items;
    let customers: Vec<CustomerId> = open.iter().filter_map(|enquiry| enquiry.details.customer.clone()).collect();
    let vehicles: Vec<VehicleId> = open.iter().filter_map(|enquiry| enquiry.details.vehicle.clone()).collect();
    let customers = customer::usecase::of_ids(tx, &customers)?;
    let vehicles = vehicle::usecase::of_ids(tx, &vehicles)?;
    Ok(open.into_iter().map(|enquiry| of_enquiry(enquiry, &customers, &vehicles)).collect())
}

fn of_enquiry(enquiry: Enquiry, customers: &[Customer], vehicles: &[Vehicle]) -> Entry {
    let details = enquiry.details;
    let known = customers.iter().find(|one| details.customer.as_ref() == Some(&one.id));
    let car = vehicles.iter().find(|one| details.vehicle.as_ref() == Some(&one.id));
    let said = Some(details.vehicle_words).filter(|words| !words.is_empty());
    let name = known.map(|one| one.details.name.clone()).or(details.caller.map(|caller| caller.name));
    let facts = Facts { enquiry: Some(enquiry.state), ..Facts::default() };
    Entry {
        about: About::Enquiry(enquiry.id),
        act: facts.next_act().act().unwrap_or(Act::Answer),
        title: String::new(),
        customer_name: name.unwrap_or_default(),
        customer: details.customer,
        vehicle_name: car.map(|one| one.details.name()).or(said),
        registration: car.and_then(|one| one.details.registration.clone()),
        vehicle: details.vehicle,
        bay: None,
        person: None,
        amount: None,
        due_on: details.wanted_by,
        visit: None,
        created_at: enquiry.created_at,
    }
}

fn failed_mails(tx: &mut Tx<'_>) -> Done<Vec<Entry>> {
    let wanted = message::usecase::Wanted { states: vec![MessageState::Failed], about: None };
    let failed = message::usecase::list(tx, &wanted, &oldest())?.items;
    Ok(failed.into_iter().map(of_message).collect())
}

fn of_message(message: Message) -> Entry {
    Entry {
        about: About::Message(message.id),
        act: Act::SendMailAgain,
        title: message.letter.subject,
        customer: None,
        customer_name: message.letter.to_name,
        vehicle: None,
        vehicle_name: None,
        registration: None,
        bay: None,
        person: None,
        amount: None,
        due_on: None,
        visit: None,
        created_at: message.created_at,
    }
}
