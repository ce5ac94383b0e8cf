//! Reminders: recipients, occasions and ways.

use std::collections::BTreeMap;

use baywright_domain::calendar::{OpeningHours, ZoneRules};
use baywright_domain::customer::ConsentKind;
use baywright_domain::id::{CustomerId, MessageId, ReminderId};
use baywright_domain::quote::RevisionState;
use baywright_domain::reminder::{Letter, ReminderKind, ReminderWay, SOONER, SendingHours};
use baywright_domain::time::Interval;
use chrono::{Days, NaiveDate};
use serde_json::json;

use super::{letter, store};
use crate::customer::usecase::{self as customer, Customer};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::shop::usecase::Settings;
use crate::{booking, invoice, quote, shop};

/// Maximum number of one kind in one run; the next run continues.
const MOST: i64 = 500;

/// Days before and after today whose closures are read: more than any reminder looks ahead.
const MOST_DAYS: u64 = 70;

/// A reminder that was given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reminder {
    /// Its id.
    pub id: ReminderId,
    /// Kind of reminder.
    pub kind: ReminderKind,
    /// Kind and id of the record that it is about.
    pub subject: (String, String),
    /// Occasion of the reminder: the day of a booking, the revision of a quote, the number of a letter.
    pub occasion: String,
    /// Who is reminded.
    pub customer: CustomerId,
    /// Way of reminding: by mail or by the desk.
    pub way: ReminderWay,
    /// Id of the mail; `None` if the desk does it.
    pub message: Option<MessageId>,
    /// Date in the shop's time zone.
    pub sent_on: NaiveDate,
    /// Time when the record was made.
    pub created_at: UtcTime,
}

/// Filter of the list of reminders.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to these kinds; empty for all.
    pub kinds: Vec<ReminderKind>,
    /// Limits the list to reminders given in one of these ways; empty for all.
    pub ways: Vec<ReminderWay>,
    /// Limits the list to one customer.
    pub customer: Option<CustomerId>,
}

/// One page of the shop's reminders.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Reminder>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |reminder| Mark::of_id(reminder.id.as_str())))
}

/// A reminder that is due.
struct Due<'a> {
    kind: ReminderKind,
    subject: (&'static str, &'a str),
    occasion: String,
    customer: &'a CustomerId,
    /// Whether what the mail says is still true.
    keeps: bool,
}

/// Gives a reminder: writes the mail if the customer may be mailed, and stores the reminder in any case.
fn give(tx: &mut Tx<'_>, of: &Due<'_>, mail: impl FnOnce(&mut Tx<'_>, &Customer, &str) -> Done<MessageId>) -> Done<()> {
    let customer = customer::show(tx, of.customer)?;
    let consents = |kind: ConsentKind| customer.consents_to(kind, tx.now);
    let way = ReminderWay::of(of.kind, of.keeps, customer.email().is_some(), consents);
    let message = match (way, customer.email()) {
        (ReminderWay::Mail, Some(to)) => Some(mail(tx, &customer, to)?),
        _ => None,
    };
    let reminder = Reminder {
        id: ids::new(),
        kind: of.kind,
        subject: (of.subject.0.to_owned(), of.subject.1.to_owned()),
        occasion: of.occasion.clone(),
        customer: of.customer.clone(),
        way,
        message,
        sent_on: tx.today()?,
        created_at: tx.now,
    };
    store::insert(tx, &reminder)?;
    let detail = json!({ "kind": of.kind.as_str(), "occasion": of.occasion, "way": way.as_str() });
    record::write(tx, "reminder.given", of.subject, detail)
}

/// The reminders about each of those records, in the order in which they were given.
fn given(
    tx: &mut Tx<'_>,
    kind: ReminderKind,
    subjects: Vec<String>,
) -> Done<BTreeMap<String, Vec<(String, NaiveDate)>>> {
    let mut all: BTreeMap<String, Vec<(String, NaiveDate)>> = BTreeMap::new();
    for (subject, occasion, day) in store::given(tx, kind, subjects)? {
        all.entry(subject).or_default().push((occasion, day));
    }
    Ok(all)
}

/// Time when the shop is open, as far around today as reminders look.
fn opening_hours(tx: &mut Tx<'_>) -> Done<OpeningHours> {
    let today = tx.today()?;
    let first = today.checked_sub_days(Days::new(MOST_DAYS)).unwrap_or(today);
    let last = today.checked_add_days(Days::new(MOST_DAYS)).unwrap_or(today);
    shop::usecase::opening_hours(tx, first, last)
}

/// Period from now to the end of the day that is `days` days ahead in the shop's time zone, plus a few days: reminders
/// due on a day on which the shop is closed are sent earlier.
fn ahead(tx: &Tx<'_>, settings: &Settings, days: u8) -> Done<Interval> {
    let last = tx.today()?.checked_add_days(Days::new(u64::from(days) + SOONER));
    let end = last.and_then(|day| settings.zone.day(day)).map(Interval::to);
    let end = end.ok_or_else(|| Fail::unexpected("no such day"))?;
    Interval::new(tx.now.minute(), end).ok_or_else(|| Fail::unexpected("the day is over before it ends"))
}

/// Reminds customers of bookings in the coming days.
pub fn before_bookings(tx: &mut Tx<'_>) -> Done<()> {
    let kind = ReminderKind::BeforeBooking;
    let settings = shop::usecase::settings(tx)?;
    let schedule = settings.terms.reminders;
    let open = opening_hours(tx)?;
    let hours = SendingHours::new(&open, &settings.zone);
    let stretch = ahead(tx, &settings, schedule.before_booking)?;
    let found = booking::usecase::starting(tx, stretch)?;
    let given = given(tx, kind, found.iter().map(|booking| booking.id.to_string()).collect())?;
    for booking in &found {
        let day = settings.zone.to_local(booking.place.starts).date();
        let occasion = day.to_string();
        let before = given.get(booking.id.as_str()).into_iter().flatten();
        let reminded = before.clone().any(|(known, _)| *known == occasion);
        if !schedule.booking_due(&hours, tx.now.minute(), day, booking.state, reminded) {
            continue;
        }
        // A car whose place no longer fits the signed work can't be taken in, so the desk finds another time first.
        let keeps = booking.fits;
        let of = Due { kind, subject: ("booking", booking.id.as_str()), occasion, customer: &booking.customer, keeps };
        give(tx, &of, |tx, _, _| {
            let message = booking::usecase::remind(tx, booking)?;
            message.ok_or_else(|| Fail::unexpected("a customer with an address was not mailed"))
        })?;
    }
    Ok(())
}

/// Reminds customers of quotes that are about to lapse.
pub fn before_lapse(tx: &mut Tx<'_>) -> Done<()> {
    let kind = ReminderKind::BeforeLapse;
    let settings = shop::usecase::settings(tx)?;
    let schedule = settings.terms.reminders;
    let open = opening_hours(tx)?;
    let hours = SendingHours::new(&open, &settings.zone);
    let by = ahead(tx, &settings, schedule.before_lapse)?.to();
    let found = quote::usecase::lapsing(tx, UtcTime::from_minute(by), MOST)?;
    let given = given(tx, kind, found.iter().map(|quote| quote.id.to_string()).collect())?;
    for lapsing in &found {
        let occasion = lapsing.revision.to_string();
        let reminded = given.get(lapsing.id.as_str()).into_iter().flatten().any(|(known, _)| *known == occasion);
        let Some(until) = lapsing.document.holds_until else { continue };
        // It is valid until, not including, this time: its last day is that of the minute before.
        let last_day = settings.zone.to_local(until.0.plus_minutes(-1).minute()).date();
        if !schedule.lapse_due(&hours, tx.now.minute(), last_day, RevisionState::Sent, reminded) {
            continue;
        }
        let customer = CustomerId::new(lapsing.document.customer.id.as_str());
        let of = Due { kind, subject: ("quote", lapsing.id.as_str()), occasion, customer: &customer, keeps: true };
        give(tx, &of, |tx, _, to| {
            let link = quote::usecase::fresh_link(tx, &lapsing.id, to)?;
            letter::quote(tx, lapsing, last_day, to, &link)
        })?;
    }
    Ok(())
}

/// Writes letters about overdue invoices.
pub fn overdue(tx: &mut Tx<'_>) -> Done<()> {
    let kind = ReminderKind::Overdue;
    let settings = shop::usecase::settings(tx)?;
    let schedule = settings.terms.reminders;
    let open = opening_hours(tx)?;
    if !SendingHours::new(&open, &settings.zone).are_now(tx.now.minute()) {
        return Ok(());
    }
    let today = tx.today()?;
    let mut last = None;
    loop {
        let found = invoice::usecase::overdue(tx, last.as_ref(), MOST)?;
        let given = given(tx, kind, found.iter().map(|invoice| invoice.id.to_string()).collect())?;
        for invoice in &found {
            // A customer who disputes an invoice gets no letters about it until the dispute ends.
            if invoice.item().stops_letters() {
                continue;
            }
            let Some(due_on) = invoice.due_on else { continue };
            let letters = given.get(invoice.id.as_str()).into_iter().flatten();
            let letters =
                letters.filter_map(|(number, day)| Some(Letter { number: number.parse().ok()?, sent_on: *day }));
            let newest = letters.max_by_key(|letter| letter.number);
            let Some(number) = schedule.overdue_due(today, due_on, invoice.account.open, newest) else { continue };
            let of = Due {
                kind,
                subject: ("invoice", invoice.id.as_str()),
                occasion: number.to_string(),
                customer: &invoice.customer,
                keeps: true,
            };
            give(tx, &of, |tx, _, to| letter::invoice(tx, invoice, number, to))?;
        }
        if i64::try_from(found.len()).unwrap_or(i64::MAX) < MOST {
            return Ok(());
        }
        last = found.into_iter().next_back();
    }
}

/// Data that this feature holds about a customer. It comes before the mails that its rows name.
pub const HOLDER: Holder = Holder {
    feature: "reminder",
    held: &[Held::of_customer("reminder")],
    forget: |tx, leaving| {
        store::remove(tx, &leaving.customer)?;
        Ok(Left::default())
    },
};
