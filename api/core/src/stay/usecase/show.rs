//! Reads the stay of a car for its customer.

use baywright_domain::booking::BookingState;
use baywright_domain::id::{InvoiceId, PhotoId};
use baywright_domain::money::Money;
use baywright_domain::stay::{Moment, Progress, may_ask, progress};
use baywright_domain::time::Minute;
use baywright_domain::variation::VariationState;

use super::{Question, questions, visit_of};
use crate::agreement::usecase as agreement;
use crate::booking::usecase::{Promised, times_to_choose};
use crate::invoice::usecase::{self as invoices, Invoice};
use crate::job::usecase::{Job, Note};
use crate::mail::outbox::Attachment;
use crate::media::usecase::Photo;
use crate::payment::usecase::Payment;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::Amount;
use crate::platform::paging::Paging;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::quote::kept::QuoteDocument;
use crate::shop::settings::Settings;
use crate::signoff::usecase::{Link, quote_of_stay};
use crate::visit::usecase::Visit;
use crate::{job, media, payment, quote, shop};

/// Maximum number of times that a customer can choose from at once.
const MOST_TIMES: usize = 12;

/// Maximum number of invoices that a page lists.
const MOST_INVOICES: i64 = 20;

/// Maximum number of payments that the page of an invoice lists.
const MOST_PAYMENTS: i64 = 50;

/// Minutes of a day.
const DAY_MINUTES: i64 = 24 * 60;

/// A stay as its customer sees it.
#[derive(Debug, Clone)]
pub struct Stay {
    /// The visit, with what must happen next.
    pub visit: Visit,
    /// The moment that the page shows on top.
    pub moment: Moment,
    /// The shop's name, address and numbers, and its time zone.
    pub settings: Settings,
    /// Agreed price, with tax; `None` if nothing is signed.
    pub agreed: Option<Money>,
    /// First moment at which work may begin, if the customer asked to wait and it is in the future.
    pub not_before: Option<Minute>,
    /// Free times that the customer can choose from.
    pub times: Vec<Promised>,
    /// Steps of the work, in order; empty before the car has come.
    pub steps: Vec<StepSeen>,
    /// Notes with photographs that are meant for the customer, the first one first.
    pub notes: Vec<Note>,
    /// The change that waits for the customer's answer.
    pub change: Option<Change>,
    /// Issued invoices, the newest first.
    pub invoices: Vec<Invoice>,
    /// Unpaid amount of all of them.
    pub owed: Money,
    /// Advice for the days after, as it was given at the hand-over; empty if there is none.
    pub aftercare: String,
    /// Questions that the customer asked, the first one first.
    pub questions: Vec<Question>,
    /// Whether they may ask one more now.
    pub may_ask: bool,
}

/// A step of the work for its customer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepSeen {
    /// Its name.
    pub name: String,
    /// Its progress.
    pub progress: Progress,
}

/// A change that waits for its customer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Its number, such as `Q-2026-0042-V1`.
    pub number: String,
    /// Reason for it, as the studio wrote it for the customer.
    pub reason: String,
    /// Change in price by its required lines, with tax; `None` if it only offers a choice.
    pub price: Option<Amount>,
    /// New total, with tax; `None` if it only offers a choice.
    pub total: Option<Amount>,
    /// Time by which the car will be ready with it; `None` if that is not known.
    pub ready: Option<UtcTime>,
}

/// The stay to which a link leads.
///
/// # Errors
/// `NotFound` if the link leads to a document that is signed.
pub fn show(tx: &mut Tx<'_>, link: &Link) -> Done<Stay> {
    let visit = visit_of(tx, link)?;
    let quote = visit.head.quote.clone();
    let now = tx.now.minute();
    let setting = shop::usecase::self_booking(tx)?.setting;
    let mut moment = Moment::of(visit.next, visit.booking.as_ref().map(|booking| booking.state), setting.allowed);
    let mut times = Vec::new();
    if moment == Moment::PickTime {
        times = if_possible(times_to_choose(tx, &quote, setting.earliest(now), MOST_TIMES))?.unwrap_or_default();
        if times.is_empty() {
            moment = Moment::AwaitTime;
        }
    }
    let job = match &visit.booking {
        Some(booking) if visit.job.is_some() => job::usecase::of_booking(tx, &booking.id)?,
        _ => None,
    };
    let (steps, notes) = match &job {
        Some(job) => (steps(tx, job), notes(tx, job)?),
        None => (Vec::new(), Vec::new()),
    };
    let handed_over = visit.booking.as_ref().filter(|booking| booking.state == BookingState::HandedOver);
    let aftercare = match handed_over {
        Some(booking) => if_possible(job::usecase::handover_of(tx, &booking.id))?.map(|given| given.said.aftercare),
        None => None,
    };
    let change = if moment == Moment::AnswerChange { change(tx, &visit)? } else { None };
    let invoices = issued(tx, &visit)?;
    let questions = questions(tx, &quote)?;
    let day = tx.now.plus_minutes(-DAY_MINUTES);
    let asked = questions.iter().filter(|question| question.asked_at > day).count();
    Ok(Stay {
        agreed: agreed(tx, &visit)?,
        not_before: if_possible(quote::usecase::may_begin(tx, &quote))?.flatten().filter(|first| *first > now),
        settings: shop::usecase::settings(tx)?,
        owed: invoices.iter().map(|invoice| invoice.account.open).sum(),
        aftercare: aftercare.unwrap_or_default(),
        may_ask: may_ask(asked, questions.len()).is_ok(),
        visit,
        moment,
        times,
        steps,
        notes,
        change,
        invoices,
        questions,
    })
}

/// The result, or `None` if a rule says no: the page then shows less, and the desk finds out why.
fn if_possible<T>(done: Done<T>) -> Done<Option<T>> {
    match done {
        Ok(found) => Ok(Some(found)),
        Err(Fail::Refused(_)) => Ok(None),
        Err(other) => Err(other),
    }
}

fn steps(tx: &Tx<'_>, job: &Job) -> Vec<StepSeen> {
    let rules = job.rules();
    let seen = progress(&rules, tx.now.datetime());
    seen.map(|(step, progress)| StepSeen { name: step.name.clone(), progress }).collect()
}

fn notes(tx: &mut Tx<'_>, job: &Job) -> Done<Vec<Note>> {
    let mut notes = job::usecase::notes(tx, &job.id)?;
    notes.retain(|note| note.for_customer);
    Ok(notes)
}

/// The agreed price: the signed quote and the variations signed since.
fn agreed(tx: &mut Tx<'_>, visit: &Visit) -> Done<Option<Money>> {
    let agreed = if_possible(agreement::agreed(tx, &visit.head.quote))?;
    Ok(agreed.map(|all| {
        let changes = all.variations.iter().map(|variation| variation.totals.promised());
        changes.fold(all.quote.totals.promised(), |sum, change| sum + change)
    }))
}

/// The change that waits for the customer's answer; the latest if there are several.
fn change(tx: &mut Tx<'_>, visit: &Visit) -> Done<Option<Change>> {
    let all = agreement::of_quote(tx, &visit.head.quote)?;
    let Some(sent) = all.iter().rfind(|one| one.state == VariationState::Sent) else { return Ok(None) };
    let document = QuoteDocument::parse(&agreement::frozen(sent)?.document)?;
    let price = document.required_totals.as_ref().map(|totals| totals.payable.clone());
    let effect = document.change.as_ref();
    Ok(Some(Change {
        total: effect.zip(price.as_ref()).and_then(|(effect, price)| effect.total_with(price)),
        ready: effect.and_then(|effect| effect.ready_after).map(|at| at.0),
        number: document.number,
        reason: document.notes,
        price,
    }))
}

fn issued(tx: &mut Tx<'_>, visit: &Visit) -> Done<Vec<Invoice>> {
    let wanted = invoices::Wanted { quote: Some(visit.head.quote.clone()), ..invoices::Wanted::default() };
    let mut found = invoices::list(tx, &wanted, &Paging::first(MOST_INVOICES))?.items;
    found.retain(|invoice| invoice.number.is_some());
    Ok(found)
}

/// An issued invoice of the stay, with its payments, the newest first.
///
/// # Errors
/// `NotFound` if the stay has no such invoice.
pub fn invoice(tx: &mut Tx<'_>, link: &Link, id: &InvoiceId) -> Done<(Settings, Invoice, Vec<Payment>)> {
    let quote = quote_of_stay(link)?;
    let found = invoices::find(tx, id)?.filter(|one| one.number.is_some() && one.quote.as_ref() == Some(&quote));
    let found = found.ok_or_else(|| Refused::not_found("invoice"))?;
    let wanted = payment::usecase::Wanted { invoice: Some(id.clone()), ..payment::usecase::Wanted::default() };
    let payments = payment::usecase::list(tx, &wanted, &Paging::first(MOST_PAYMENTS))?.items;
    Ok((shop::usecase::settings(tx)?, found, payments))
}

/// A photograph that is meant for the customer of the stay.
///
/// # Errors
/// `NotFound` for any other one.
pub fn photo(tx: &mut Tx<'_>, link: &Link, id: &PhotoId) -> Done<Photo> {
    let visit = visit_of(tx, link)?;
    let job = match &visit.booking {
        Some(booking) => job::usecase::of_booking(tx, &booking.id)?,
        None => None,
    };
    let shown = match &job {
        Some(job) => notes(tx, job)?.iter().any(|note| note.photos.contains(id)),
        None => false,
    };
    if shown { media::usecase::show(tx, id) } else { Err(Refused::not_found("photograph").into()) }
}

/// The signed document of the stay with its evidence, as one file.
///
/// # Errors
/// `NotFound` if the link leads to a document that is signed; `Conflict` if nothing is signed.
pub fn signed_copy(tx: &mut Tx<'_>, link: &Link) -> Done<Attachment> {
    let quote = quote_of_stay(link)?;
    let signed = quote::usecase::signed(tx, &quote)?;
    let shown = quote::usecase::offer(tx, &signed.revision_id, |_, _| Ok(None))?;
    let sealed = shown.signoff.as_ref().ok_or_else(|| Refused::not_found("signed copy"))?;
    quote::usecase::sealed_file(&shown, sealed)
}

/// The file for the customer's calendar with the booked time.
///
/// # Errors
/// `NotFound` if no time is booked.
pub fn calendar_file(tx: &mut Tx<'_>, link: &Link) -> Done<Attachment> {
    let visit = visit_of(tx, link)?;
    let came = |state| matches!(state, BookingState::Booked | BookingState::InBay | BookingState::Ready);
    let booking = visit.booking.filter(|booking| came(booking.state));
    let booking = booking.ok_or_else(|| Refused::not_found("booking"))?;
    crate::booking::usecase::calendar_file(tx, &booking)
}
