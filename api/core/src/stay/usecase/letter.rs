//! Mails to the studio about what a customer did on their page.

use baywright_domain::calendar::ZoneRules;

use super::Question;
use crate::booking::usecase::Booking;
use crate::mail::compose::{Notice, Part, bodies};
use crate::mail::outbox::{self, NewMail};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::visit::usecase::Visit;
use crate::{customer, shop};

/// A customer asked a question.
pub(super) fn asked(tx: &mut Tx<'_>, visit: &Visit, question: &Question) -> Done<()> {
    let head = &visit.head;
    let known = customer::usecase::show(tx, &head.customer)?;
    let car = match &head.registration {
        Some(registration) => format!("{}, {registration}", head.vehicle_name),
        None => head.vehicle_name.clone(),
    };
    let facts = [
        Some(("Customer".to_owned(), head.customer_name.clone())),
        known.email().map(|email| ("Email".to_owned(), email.to_owned())),
        known.details.phones.first().map(|phone| ("Telephone".to_owned(), phone.clone())),
        Some(("Vehicle".to_owned(), car)),
        Some(("Quote".to_owned(), head.number.clone())),
    ];
    let notice = Notice {
        title: format!("A question from {}", head.customer_name),
        opening: vec!["A customer asks this on their page. Please answer by phone or by email.".to_owned()],
        facts: facts.into_iter().flatten().collect(),
        parts: vec![Part::of_lines("Question", &question.text)],
        ..Notice::default()
    };
    tell(tx, "stay.asked", ("quote", head.quote.to_string()), &notice)
}

/// A customer chose a time.
pub(super) fn chosen(tx: &mut Tx<'_>, booking: &Booking) -> Done<()> {
    let zone = shop::usecase::settings(tx)?.zone;
    let notice = Notice {
        title: format!("{} booked a time", booking.names.customer),
        opening: vec![
            "The customer chose this time on their page. It is booked, and they have a mail about it.".to_owned(),
        ],
        facts: vec![
            ("Customer".to_owned(), booking.names.customer.clone()),
            ("Vehicle".to_owned(), booking.car()),
            ("Booked for".to_owned(), zone.wall_in_full(booking.place.starts)),
            ("Promised".to_owned(), zone.wall_in_full(booking.place.promised)),
        ],
        ..Notice::default()
    };
    tell(tx, "stay.booked", ("booking", booking.id.to_string()), &notice)
}

fn tell(tx: &mut Tx<'_>, kind: &'static str, about: (&'static str, String), notice: &Notice) -> Done<()> {
    let Some(to_email) = shop::usecase::settings(tx)?.profile.email else { return Ok(()) };
    let bodies = bodies(&tx.studio, notice)?;
    let mail = NewMail {
        kind,
        to_name: tx.studio.name.clone(),
        to_email,
        subject: notice.title.clone(),
        text: bodies.text,
        html: bodies.html,
        attachments: Vec::new(),
        about,
    };
    outbox::send(tx, mail)?;
    Ok(())
}
