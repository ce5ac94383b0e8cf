//! The mails about a quote; those about a variation use the same words for the same things.

mod tables;

use baywright_domain::calendar::{Zone, ZoneRules, day_in_full, day_in_words};
use baywright_domain::time::Minute;

use super::Quote;
use crate::mail::compose::{Notice, Part, bodies};
use crate::mail::outbox::{Attachment, NewMail};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::identity::Studio;
use crate::platform::kept::Amount;
use crate::platform::tx::Tx;
use crate::quote::kept::{QuoteDocument, QuoteTotals};
use crate::signoff::usecase::{Link, Signoff};
use crate::{mail, shop};

pub use tables::{about_vat, offered, taken};

/// Sentence about every link in a mail.
pub const LINK_IS_YOURS: &str = "Keep this link private: anyone who has it can reply in your name.";

/// Sentence about every sealed file in a mail.
pub const KEEP_THE_FILE: &str = "Please keep the attached file. It contains exactly what you read and signed.";

/// The mail with the link to a quote's page; `accepted` is an earlier revision that the customer has signed.
pub(super) fn offer(
    studio: &Studio,
    quote: &Quote,
    (document, accepted): (&QuoteDocument, Option<u32>),
    (to, message): (&str, &str),
    url: &str,
) -> Done<NewMail> {
    let (number, vehicle) = (&document.number, &document.vehicle.name);
    // A customer who has two mails about one quote must see which of them applies.
    let name = match document.revision {
        1 => number.clone(),
        revision => format!("{number}, revision {revision}"),
    };
    let first = match (document.revision, accepted) {
        (1, _) => format!("Here is our quote {number} for your {vehicle}."),
        (revision, None) => format!(
            "Here is revision {revision} of our quote {number} for your {vehicle}. It replaces the earlier one, which is no \
             longer valid."
        ),
        (revision, Some(accepted)) => format!(
            "Here is revision {revision} of our quote {number} for your {vehicle}. Revision {accepted}, which you accepted, \
             stays valid until you accept this one."
        ),
    };
    let next = "Open it to read everything in full, choose what you want, and accept or decline. Nothing is agreed before \
                you accept.";
    let mut opening = vec![first, next.to_owned()];
    opening.extend(paragraphs(message));
    let notice = Notice {
        title: format!("Quote {name}"),
        greeting: document.customer.name.clone(),
        opening,
        facts: facts(studio, document),
        tables: offered(document, "What is included", "Total, including VAT"),
        action: Some(("Open the quote".to_owned(), url.to_owned())),
        closing: vec![LINK_IS_YOURS.to_owned()],
        parts: Vec::new(),
    };
    mail(
        studio,
        ("quote", quote.id.as_str()),
        document,
        to,
        "quote.sent",
        format!("Quote {name} from {}", studio.name),
        &notice,
    )
}

/// The customer's copy of what they signed, with the sealed record attached, and the address of the page for their stay.
pub(super) fn copy(
    studio: &Studio,
    quote: &Quote,
    document: &QuoteDocument,
    (to, page): (&str, String),
    signoff: &Signoff,
    totals: &QuoteTotals,
    sealed: Attachment,
) -> Done<NewMail> {
    let at = local(studio, signoff.signed_at);
    let notice = Notice {
        title: format!("Your copy of quote {}", document.number),
        greeting: document.customer.name.clone(),
        opening: vec![
            format!(
                "Thank you for your order. {} accepted quote {}, revision {}, {} on {at}.",
                signoff.typed_name,
                document.number,
                document.revision,
                signoff.method.label()
            ),
            "Your own page shows what comes next: the time, the work and the papers. If you have no time booked yet, it says \
             how to agree one."
                .to_owned(),
        ],
        facts: vec![("Vehicle".to_owned(), vehicle(document))],
        tables: vec![taken(document, signoff, totals, "Total, including VAT")],
        action: Some(("Open your page".to_owned(), page)),
        closing: vec![KEEP_THE_FILE.to_owned(), LINK_IS_YOURS.to_owned()],
        parts: vec![Part::of_lines("Conditions", &document.conditions), proof(signoff)],
    };
    let subject = format!("Your copy: quote {} accepted", document.number);
    let mut mail = mail(studio, ("quote", quote.id.as_str()), document, to, "quote.signed", subject, &notice)?;
    mail.attachments.push(sealed);
    Ok(mail)
}

/// Answer of a customer through a link.
pub enum Answered<'a> {
    /// They accepted.
    Yes {
        /// The sum.
        sum: &'a Amount,
        /// Name as it was typed.
        name: &'a str,
        /// Time before which work may not start, because the customer did not agree to an earlier start.
        not_before: Option<Minute>,
    },
    /// They agreed, after signing, that work may start within the 14 days.
    EarlyStart,
    /// They declined with this reason, which may be empty.
    No(&'a str),
}

/// Tells the studio, if it has an email address, about a customer's answer through a link that they opened elsewhere:
/// nobody at the studio saw it. Other answers were given to somebody at the studio.
pub fn tell_studio(
    tx: &mut Tx<'_>,
    about: (&'static str, &str),
    document: &QuoteDocument,
    link: Option<&Link>,
    answer: &Answered<'_>,
) -> Done<()> {
    if !link.is_some_and(Link::is_at_a_distance) {
        return Ok(());
    }
    let Some(to) = shop::usecase::settings(tx)?.profile.email else { return Ok(()) };
    let customer = &document.customer.name;
    let what = match &document.variation_of {
        Some(quote) => format!("the change to quote {quote}"),
        None => format!("quote {}", document.number),
    };
    let mut facts = vec![("Vehicle".to_owned(), vehicle(document))];
    let (did, next) = match answer {
        Answered::Yes { sum, name, not_before } => {
            facts.push(("Signed by".to_owned(), (*name).to_owned()));
            facts.push(("Agreed, including VAT".to_owned(), sum.to_string()));
            let zone = Zone::named(&tx.studio.zone)?;
            facts.extend(not_before.map(|first| ("No work before".to_owned(), zone.wall_in_full(first))));
            let next = match document.variation_of {
                Some(_) => "Carry out the changed work: it is now part of the job.",
                None => "Agree a time with them, if they have none yet.",
            };
            ("accepted", next)
        }
        Answered::EarlyStart => {
            facts.push(("Start".to_owned(), "Work may begin within the 14 days.".to_owned()));
            ("agreed to an earlier start for", "You may start the work before the 14 days are over.")
        }
        Answered::No(reason) => {
            facts.extend((!reason.is_empty()).then(|| ("Reason".to_owned(), (*reason).to_owned())));
            let next = match document.variation_of {
                Some(_) => "Carry on with the work as agreed before.",
                None => "Call them if you would like to make another offer.",
            };
            ("declined", next)
        }
    };
    let notice = Notice {
        title: format!("{customer} {did} {what}"),
        opening: vec![format!("{customer} {did} {what}, using the link that you sent."), next.to_owned()],
        facts,
        ..Notice::default()
    };
    let subject = notice.title.clone();
    let studio = tx.studio.clone();
    let letter = mail(&studio, about, document, &to, "answer.received", subject, &notice)?;
    mail::outbox::send(tx, NewMail { to_name: studio.name, ..letter })?;
    Ok(())
}

/// A mail to the customer of a document, about the record with that kind and id.
pub fn mail(
    studio: &Studio,
    about: (&'static str, &str),
    document: &QuoteDocument,
    to: &str,
    kind: &'static str,
    subject: String,
    notice: &Notice,
) -> Done<NewMail> {
    let bodies = bodies(studio, notice)?;
    Ok(NewMail {
        kind,
        to_name: document.customer.name.clone(),
        to_email: to.to_owned(),
        subject,
        text: bodies.text,
        html: bodies.html,
        attachments: Vec::new(),
        about: (about.0, about.1.to_owned()),
    })
}

/// Proof that a customer's copy is unchanged.
pub fn proof(signoff: &Signoff) -> Part {
    Part {
        heading: "Proof that your copy is unchanged".to_owned(),
        items: vec![
            format!("SHA-256 of what you read: {}", signoff.document_digest),
            format!("SHA-256 of your signature: {}", signoff.evidence_digest),
        ],
    }
}

fn facts(studio: &Studio, document: &QuoteDocument) -> Vec<(String, String)> {
    let until = document.holds_until.map(|until| match Zone::named(&studio.zone) {
        Ok(zone) => day_in_full(zone.to_local(until.0.plus_minutes(-1).minute()).date()),
        Err(_) => until.0.to_string(),
    });
    let mut facts = vec![("Vehicle".to_owned(), vehicle(document))];
    facts.extend(until.map(|until| ("Valid until".to_owned(), until)));
    facts.push(("Prices".to_owned(), about_vat(document).to_owned()));
    facts
}

/// The car of a document: its name, with the registration if it has one.
pub fn vehicle(document: &QuoteDocument) -> String {
    let vehicle = &document.vehicle;
    match vehicle.registration.as_str() {
        "" => vehicle.name.clone(),
        plate => format!("{}, {plate}", vehicle.name),
    }
}

/// The last day before a moment, in that zone: `Tue 3 March 2026`.
pub fn last_day(zone: &str, until: UtcTime) -> String {
    let Ok(zone) = Zone::named(zone) else { return until.to_string() };
    day_in_words(zone.to_local(until.plus_minutes(-1).minute()).date())
}

/// The paragraphs of a text that somebody wrote.
pub fn paragraphs(text: &str) -> impl Iterator<Item = String> {
    text.split("\n\n").map(str::trim).filter(|text| !text.is_empty()).map(str::to_owned)
}

/// A time in the shop's time zone, as a letter says it: `Tuesday 3 March 2026 at 09:30`.
pub fn local(studio: &Studio, at: UtcTime) -> String {
    let Ok(zone) = Zone::named(&studio.zone) else { return at.to_string() };
    zone.wall_in_full(at.minute())
}
