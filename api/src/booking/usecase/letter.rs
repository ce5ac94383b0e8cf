//! What the customer is told of their booking by mail, with the appointment for their calendar.

use baywright_domain::id::MessageId;

use super::Booking;
use crate::customer;
use crate::documents::calendar::{self, Appointment, Standing};
use crate::mail::compose::{Notice, bodies};
use crate::mail::outbox::{self, Attachment, NewMail};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::platform::wire::Amount;
use crate::shop;
use crate::shop::settings::Settings;

/// What has become of the booking.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum News {
    /// The place is agreed.
    Booked,
    /// It has another time.
    Moved,
    /// The car is in its bay and will be ready later.
    Later,
    /// It was called off.
    Cancelled,
    /// It is soon.
    Soon,
}

impl News {
    fn kind(self) -> &'static str {
        match self {
            Self::Booked => "booking.booked",
            Self::Moved => "booking.moved",
            Self::Later => "booking.later",
            Self::Cancelled => "booking.cancelled",
            Self::Soon => "booking.reminder",
        }
    }

    fn subject(self, start: &str, finish: &str) -> String {
        match self {
            Self::Booked => format!("Your booking: {start}"),
            Self::Moved => format!("Your booking has moved to {start}"),
            Self::Later => format!("Your car will be ready later: {finish}"),
            Self::Cancelled => format!("Your booking of {start} is cancelled"),
            Self::Soon => format!("We expect you: {start}"),
        }
    }

    fn opening(self, vehicle: &str) -> String {
        match self {
            Self::Booked => format!("we look forward to {vehicle}. Its place is reserved."),
            Self::Moved => format!("the booking for {vehicle} has moved. These times hold now."),
            Self::Later => format!("the work on {vehicle} takes longer than we thought. This time holds now."),
            Self::Cancelled => format!("the booking for {vehicle} is cancelled."),
            Self::Soon => format!("we expect {vehicle} soon. Please take valuables and child seats out of it before."),
        }
    }
}

/// Reminds the customer of a booking by mail, where they have an address.
pub fn remind(tx: &mut Tx<'_>, booking: &Booking) -> Done<Option<MessageId>> {
    tell(tx, booking, News::Soon)
}

/// Puts the mail into the outbox, where the customer has an address.
pub(super) fn tell(tx: &mut Tx<'_>, booking: &Booking, news: News) -> Done<Option<MessageId>> {
    let customer = customer::usecase::show(tx, &booking.customer)?;
    let Some(to) = customer.email().map(str::to_owned) else { return Ok(None) };
    let settings = shop::usecase::settings(tx)?;
    let subject = news.subject(&settings.wall(booking.place.starts), &settings.wall(booking.place.promised));
    let notice = Notice {
        title: subject.clone(),
        greeting: customer.details.name.clone(),
        opening: vec![news.opening(&booking.car())],
        facts: facts(tx, &settings, booking, news),
        lines: Vec::new(),
        action: None,
        closing: closing(&settings, news),
    };
    let bodies = bodies(&tx.studio, &notice)?;
    let mail = NewMail {
        kind: news.kind(),
        to_name: customer.details.name,
        to_email: to,
        subject,
        text: bodies.text,
        html: bodies.html,
        attachments: vec![appointment(tx, &settings, booking, news)],
        about: ("booking", booking.id.to_string()),
    };
    Ok(Some(outbox::send(tx, mail)?))
}

fn facts(tx: &Tx<'_>, settings: &Settings, booking: &Booking, news: News) -> Vec<(String, String)> {
    let mut facts = vec![("Vehicle".to_owned(), booking.car())];
    let at = |minute| settings.wall(minute);
    if news == News::Cancelled {
        facts.push(("It was booked for".to_owned(), at(booking.place.starts)));
        return facts;
    }
    if news != News::Later {
        facts.push(("Please bring it".to_owned(), at(booking.place.starts)));
    }
    facts.push(("We expect to be done".to_owned(), at(booking.place.promised)));
    let place = place(settings);
    if !place.is_empty() {
        facts.push(("Where".to_owned(), place));
    }
    if let (Some(deposit), None) = (booking.deposit, booking.deposit_received_at) {
        let deposit = Amount::of(deposit, tx.studio.currency);
        facts.push(("Deposit to be paid".to_owned(), deposit.to_string()));
    }
    facts
}

fn closing(settings: &Settings, news: News) -> Vec<String> {
    let ways: Vec<&str> =
        [&settings.profile.phone, &settings.profile.email].into_iter().filter_map(|way| way.as_deref()).collect();
    let reach =
        if ways.is_empty() { "Answer this mail".to_owned() } else { format!("Write or call: {}", ways.join(", ")) };
    match news {
        News::Booked | News::Moved | News::Later | News::Soon => {
            vec![format!(
                "{reach}, if this time does not suit you. The file that comes with this mail is for your calendar."
            )]
        }
        News::Cancelled => vec![format!("{reach}, if you would like another time.")],
    }
}

fn appointment(tx: &Tx<'_>, settings: &Settings, booking: &Booking, news: News) -> Attachment {
    let summary = format!("{}: {}", tx.studio.name, booking.car());
    let bytes = calendar::file(&Appointment {
        uid: booking.id.to_string(),
        sequence: booking.version,
        stamp: tx.now,
        start: UtcTime::from_minute(booking.place.starts),
        finish: UtcTime::from_minute(booking.place.promised),
        summary,
        location: place(settings),
        description: String::new(),
        standing: if news == News::Cancelled { Standing::Cancelled } else { Standing::Confirmed },
    });
    Attachment { name: "booking.ics".to_owned(), media_type: calendar::MEDIA_TYPE.to_owned(), bytes }
}

fn place(settings: &Settings) -> String {
    let address = &settings.profile.address;
    let town =
        [address.postcode.as_deref(), address.city.as_deref()].into_iter().flatten().collect::<Vec<_>>().join(" ");
    let parts = [address.street.as_deref(), Some(town.as_str()).filter(|town| !town.is_empty())];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
