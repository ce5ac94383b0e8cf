//! Mails to the customer about their booking, with the appointment for their calendar.

use baywright_domain::calendar::ZoneRules;
use baywright_domain::id::MessageId;
use baywright_domain::time::Minute;

use super::{Booking, Misfit, appointment};
use crate::mail::compose::{Notice, bodies};
use crate::mail::outbox::{self, NewMail};
use crate::platform::fail::Done;
use crate::platform::kept::Amount;
use crate::platform::tx::Tx;
use crate::quote::usecase::letter::LINK_IS_YOURS;
use crate::shop::settings::Settings;
use crate::{customer, shop, signoff};

/// Occasion of the mail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum News {
    /// The booking was confirmed.
    Booked,
    /// The booking was moved to another time.
    Moved,
    /// The car is in its bay and will be ready later than promised.
    Later,
    /// The booking was cancelled.
    Cancelled,
    /// The booking was cancelled by mistake and is valid again.
    Restored,
    /// The booking is soon.
    Soon,
}

impl News {
    fn kind(self) -> &'static str {
        match self {
            Self::Booked => "booking.booked",
            Self::Moved => "booking.moved",
            Self::Later => "booking.later",
            Self::Cancelled => "booking.cancelled",
            Self::Restored => "booking.restored",
            Self::Soon => "booking.reminder",
        }
    }

    fn subject(self, start: &str, finish: &str) -> String {
        match self {
            Self::Booked => format!("Your booking: {start}"),
            Self::Moved => format!("Your booking has moved to {start}"),
            Self::Later => format!("Your car will be ready later: {finish}"),
            Self::Cancelled => format!("Your booking on {start} is cancelled"),
            Self::Restored => format!("Your booking on {start} is not cancelled"),
            Self::Soon => format!("Reminder: your booking on {start}"),
        }
    }

    fn opening(self, car: &str, start: &str, finish: &str) -> String {
        match self {
            Self::Booked => format!("Your time is booked. We look forward to seeing your {car}."),
            Self::Moved => format!("Your booking has a new time. Please bring your car on {start}."),
            Self::Later => format!(
                "The work on your car is taking longer than planned, and we are sorry for the delay. Your car will be ready \
                 by {finish}."
            ),
            Self::Cancelled => format!("Your booking on {start} is cancelled. You do not need to do anything."),
            Self::Restored => format!(
                "Your booking is not cancelled: please bring your car on {start}. Our earlier email was a mistake, and \
                 we are sorry."
            ),
            Self::Soon => format!("We look forward to seeing your {car} on {start}."),
        }
    }
}

/// Reminds the customer of a booking by mail, if they have an address.
pub fn remind(tx: &mut Tx<'_>, booking: &Booking) -> Done<Option<MessageId>> {
    tell(tx, booking, News::Soon)
}

/// Puts the mail into the outbox, if the customer has an address.
pub(super) fn tell(tx: &mut Tx<'_>, booking: &Booking, news: News) -> Done<Option<MessageId>> {
    let customer = customer::usecase::show(tx, &booking.customer)?;
    let Some(to) = customer.email().map(str::to_owned) else { return Ok(None) };
    let settings = shop::usecase::settings(tx)?;
    let (start, finish) = (at(&settings, booking.place.starts), at(&settings, booking.place.promised));
    let car = if booking.names.model.is_empty() { "car" } else { booking.names.model.as_str() };
    let subject = news.subject(&start, &finish);
    let notice = Notice {
        title: subject.clone(),
        greeting: customer.details.name.clone(),
        opening: vec![news.opening(car, &start, &finish)],
        facts: facts(tx, &settings, booking, news),
        action: own_page(tx, booking, news, &to)?,
        closing: closing(&settings, news),
        ..Notice::default()
    };
    let attachments = match news {
        News::Cancelled => appointment::cancelled(tx, &settings, booking),
        News::Booked | News::Moved | News::Later | News::Restored | News::Soon => {
            vec![appointment::published(tx, &settings, booking)]
        }
    };
    let bodies = bodies(&tx.studio, &notice)?;
    let mail = NewMail {
        kind: news.kind(),
        to_name: customer.details.name,
        to_email: to,
        subject,
        text: bodies.text,
        html: bodies.html,
        attachments,
        about: ("booking", booking.id.to_string()),
    };
    Ok(Some(outbox::send(tx, mail)?))
}

/// The button that leads to the customer's page for the stay. A cancelled booking has none.
fn own_page(tx: &mut Tx<'_>, booking: &Booking, news: News, to: &str) -> Done<Option<(String, String)>> {
    match news {
        News::Cancelled => Ok(None),
        News::Booked | News::Moved | News::Later | News::Restored | News::Soon => {
            let address = signoff::usecase::stay_address(tx, &booking.quote, to)?;
            Ok(Some(("Open your booking".to_owned(), address)))
        }
    }
}

/// A time in the shop's time zone, in full.
fn at(settings: &Settings, minute: Minute) -> String {
    settings.zone.wall_in_full(minute)
}

fn facts(tx: &Tx<'_>, settings: &Settings, booking: &Booking, news: News) -> Vec<(String, String)> {
    let mut facts = vec![("Vehicle".to_owned(), booking.car())];
    if news == News::Cancelled {
        return facts;
    }
    if news != News::Later {
        facts.push(("Bring the car".to_owned(), at(settings, booking.place.starts)));
    }
    facts.push(("Ready by".to_owned(), at(settings, booking.place.promised)));
    let place = address(settings);
    if !place.is_empty() {
        facts.push(("Where".to_owned(), place));
    }
    if let (Some(deposit), None) = (booking.deposit, booking.deposit_received_at) {
        let deposit = Amount::of(deposit, tx.studio.currency);
        facts.push(("Deposit to pay".to_owned(), deposit.to_string()));
    }
    facts
}

fn closing(settings: &Settings, news: News) -> Vec<String> {
    let ways = ways_to_reach(settings);
    let reach = if ways.is_empty() { "reply to this email".to_owned() } else { ways.join(" or ") };
    let file = "Open the attached file to add the booking to your calendar, or to update it there.";
    let empty = "Before you come, please take valuables and child seats out of the car.";
    match news {
        News::Booked | News::Moved | News::Restored | News::Soon => {
            let other = format!("If this time does not suit you, {reach}.");
            vec![empty.to_owned(), other, file.to_owned(), LINK_IS_YOURS.to_owned()]
        }
        News::Later => {
            vec![format!("If this time does not suit you, {reach}."), file.to_owned(), LINK_IS_YOURS.to_owned()]
        }
        News::Cancelled => vec![
            format!("If you would like another time, {reach}."),
            "Open the attached files to remove the booking from your calendar.".to_owned(),
        ],
    }
}

/// Ways to reach the studio, each as an instruction: `call +353 1 555 0100`, `write to studio@example.com`.
pub(super) fn ways_to_reach(settings: &Settings) -> Vec<String> {
    let phone = settings.profile.phone.as_ref().map(|phone| format!("call {phone}"));
    let email = settings.profile.email.as_ref().map(|email| format!("write to {email}"));
    phone.into_iter().chain(email).collect()
}

/// Address of the studio on one line; empty if not set.
pub(super) fn address(settings: &Settings) -> String {
    settings.profile.address.lines().join(", ")
}

/// Tells the studio by mail that a booking no longer fits the work that its customer has just signed through a link,
/// when nobody at the studio saw an answer before them.
pub fn tell_misfit(tx: &mut Tx<'_>, booking: &Booking, misfit: &Misfit) -> Done<()> {
    let settings = shop::usecase::settings(tx)?;
    let Some(to) = settings.profile.email.clone() else { return Ok(()) };
    let subject = format!("A booking needs your attention: {}", booking.car());
    let notice = Notice {
        title: subject.clone(),
        opening: misfit.sentences.clone(),
        facts: vec![
            ("Customer".to_owned(), booking.names.customer.clone()),
            ("Vehicle".to_owned(), booking.car()),
            ("Booked for".to_owned(), at(&settings, booking.place.starts)),
            ("Promised".to_owned(), at(&settings, booking.place.promised)),
        ],
        ..Notice::default()
    };
    let bodies = bodies(&tx.studio, &notice)?;
    let mail = NewMail {
        kind: "booking.no-longer-fits",
        to_name: tx.studio.name.clone(),
        to_email: to,
        subject,
        text: bodies.text,
        html: bodies.html,
        attachments: Vec::new(),
        about: ("booking", booking.id.to_string()),
    };
    outbox::send(tx, mail)?;
    Ok(())
}
