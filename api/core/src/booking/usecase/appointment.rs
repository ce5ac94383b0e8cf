//! The two appointments of a booking for the customer's calendar: bringing the car, and collecting it.
//!
//! The car may stay for days, but the customer's calendar is busy only twice. Each appointment keeps its uid for the
//! booking's whole life, so that a later file moves or cancels what an earlier one wrote.
//!
//! The uid of the first is the booking's id, that of the second is `…-collect` after the same id, and the booking's
//! version is the sequence of both, so a later file always wins. RFC 5546 lets a cancelling file name one uid only, so
//! a cancellation brings two files.

use baywright_domain::time::Minute;

use super::Booking;
use super::letter::{address, ways_to_reach};
use crate::documents::calendar::{self, Appointment, Organizer, Standing};
use crate::mail::outbox::Attachment;
use crate::platform::clock::UtcTime;
use crate::platform::tx::Tx;
use crate::shop::settings::Settings;

/// Duration of handing over a car, in minutes (common practice, no source).
const MEETING: i64 = 15;

/// Number of minutes before the appointments a calendar reminds of them (common practice, no source): the way to the
/// studio and emptying the car take longer than the way to collect it.
const ALARMS: (u32, u32) = (120, 60);

/// The file for the customer's calendar with both appointments as they are now.
pub(super) fn published(tx: &Tx<'_>, settings: &Settings, booking: &Booking) -> Attachment {
    let bytes = calendar::published(&both(tx, settings, booking));
    Attachment { name: "booking.ics".to_owned(), media_type: calendar::PUBLISH_TYPE.to_owned(), bytes }
}

/// The files that remove both appointments from the customer's calendar: one each, since such a file may have only one
/// uid.
pub(super) fn cancelled(tx: &Tx<'_>, settings: &Settings, booking: &Booking) -> Vec<Attachment> {
    let names = ["cancelled-drop-off.ics", "cancelled-collection.ics"];
    let files = both(tx, settings, booking).into_iter().zip(names).map(|(appointment, name)| Attachment {
        name: name.to_owned(),
        media_type: calendar::CANCEL_TYPE.to_owned(),
        bytes: calendar::cancelled(&appointment),
    });
    files.collect()
}

fn both(tx: &Tx<'_>, settings: &Settings, booking: &Booking) -> [Appointment; 2] {
    let studio = &tx.studio.name;
    let car = booking.car();
    let reach = ways_to_reach(settings).join(" or ");
    let questions = if reach.is_empty() {
        String::new()
    } else {
        format!("\nIf you have a question or need another time, {reach}.")
    };
    let organizer = Organizer {
        name: studio.clone(),
        email: settings.profile.email.clone().unwrap_or_else(|| tx.config.mail.from.clone()),
    };
    let one = |part: &str, at: Minute, alarm, summary: String, what: &str| Appointment {
        uid: format!("{}{part}", booking.id),
        sequence: booking.version,
        stamp: tx.now,
        start: UtcTime::from_minute(at),
        finish: UtcTime::from_minute(at).plus_minutes(MEETING),
        summary,
        location: address(settings),
        description: format!("{car}\n{what}{questions}"),
        contact: if reach.is_empty() { String::new() } else { format!("{studio}: {reach}") },
        organizer: Some(organizer.clone()),
        alarm_minutes: Some(alarm),
        standing: Standing::Confirmed,
    };
    let (place, (before_drop_off, before_collection)) = (&booking.place, ALARMS);
    [
        one(
            "",
            place.starts,
            before_drop_off,
            format!("Bring your car to {studio}"),
            "Please take valuables and child seats out of the car.",
        ),
        one(
            "-collect",
            place.promised,
            before_collection,
            format!("Collect your car from {studio}"),
            "Your car is ready by this time. We will let you know if that changes.",
        ),
    ]
}
