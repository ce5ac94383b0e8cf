//! The mails about a quote, in words.

use baywright_domain::calendar::{Zone, ZoneRules};

use super::Quote;
use crate::mail::compose::{Line, Notice, bodies};
use crate::mail::outbox::{Attachment, NewMail};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::identity::Studio;
use crate::platform::wire::Amount;
use crate::quote::form::{QuoteDocument, QuoteTotals};
use crate::signoff::usecase::Signoff;

/// The quote itself, with the link to its page.
pub(super) fn offer(
    studio: &Studio,
    quote: &Quote,
    document: &QuoteDocument,
    to: &str,
    message: &str,
    url: &str,
) -> Done<NewMail> {
    let mut opening = vec![format!("here is our quote {} for {}.", document.number, document.vehicle.name)];
    opening.extend(paragraphs(message));
    let mut lines: Vec<Line> = document.lines.iter().map(line).collect();
    if let Some(totals) = &document.required_totals {
        lines.push(total("What is included, with tax", &totals.payable));
    }
    let until = document.holds_until.map_or_else(String::new, |until| local(studio, until.0));
    let notice = Notice {
        title: format!("Quote {}", document.number),
        greeting: document.customer.name.clone(),
        opening,
        facts: facts(document, &until),
        lines,
        action: Some(("Read, choose and answer".to_owned(), url.to_owned())),
        closing: vec![
            "The page shows everything in full: what is done, what was found on the vehicle, and the conditions. \
             Nothing is agreed until you accept it there."
                .to_owned(),
            "The link is meant for you alone. Whoever has it can answer for you.".to_owned(),
        ],
    };
    mail(studio, quote, document, to, "quote.sent", format!("Quote {} from {}", document.number, studio.name), &notice)
}

/// The customer's copy of what they signed, with the sealed record attached.
pub(super) fn copy(
    studio: &Studio,
    quote: &Quote,
    document: &QuoteDocument,
    to: &str,
    signoff: &Signoff,
    totals: &QuoteTotals,
    sealed: Attachment,
) -> Done<NewMail> {
    let mut lines: Vec<Line> =
        signoff.choices.iter().filter_map(|place| document.lines.get(*place)).map(line).collect();
    lines.push(total("Total with tax", &totals.payable));
    if let Some(deposit) = &totals.deposit {
        lines.push(total("Deposit", deposit));
    }
    let at = local(studio, signoff.signed_at);
    let notice = Notice {
        title: format!("Your copy of quote {}", document.number),
        greeting: document.customer.name.clone(),
        opening: vec![format!(
            "quote {}, revision {}, was accepted on {at} in the name of {}, {}.",
            document.number,
            document.revision,
            signoff.typed_name,
            signoff.method.label()
        )],
        facts: vec![
            ("Vehicle".to_owned(), vehicle(document)),
            ("Digest of what was shown".to_owned(), signoff.document_digest.clone()),
            ("Digest of the sign-off".to_owned(), signoff.evidence_digest.clone()),
        ],
        lines,
        action: None,
        closing: vec![
            document.conditions.clone(),
            "The file that comes with this mail holds exactly what was shown and signed. Keep it: with the two digests \
             above anyone can check that nothing in it was changed."
                .to_owned(),
        ],
    };
    let subject = format!("Your copy: quote {} accepted", document.number);
    let mut mail = mail(studio, quote, document, to, "quote.signed", subject, &notice)?;
    mail.attachments.push(sealed);
    Ok(mail)
}

fn mail(
    studio: &Studio,
    quote: &Quote,
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
        about: ("quote", quote.id.to_string()),
    })
}

fn facts(document: &QuoteDocument, until: &str) -> Vec<(String, String)> {
    let way = document.prices.0.label();
    vec![
        ("Vehicle".to_owned(), vehicle(document)),
        ("Holds until".to_owned(), until.to_owned()),
        ("Prices".to_owned(), way.to_owned()),
    ]
}

fn vehicle(document: &QuoteDocument) -> String {
    let vehicle = &document.vehicle;
    match vehicle.registration.as_str() {
        "" => vehicle.name.clone(),
        plate => format!("{}, {plate}", vehicle.name),
    }
}

fn line(line: &crate::quote::form::QuoteLine) -> Line {
    let choice = if line.required { "" } else { " (your choice)" };
    Line { what: format!("{}{choice}", line.name), amount: line.amount.to_string(), total: false }
}

fn total(what: &str, amount: &Amount) -> Line {
    Line { what: what.to_owned(), amount: amount.to_string(), total: true }
}

fn paragraphs(text: &str) -> impl Iterator<Item = String> {
    text.split("\n\n").map(str::trim).filter(|text| !text.is_empty()).map(str::to_owned)
}

/// A moment on the studio's wall: `Tue 3 March 2026, 09:30`.
pub(super) fn local(studio: &Studio, at: UtcTime) -> String {
    let Ok(zone) = Zone::named(&studio.zone) else { return at.to_string() };
    zone.to_local(at.minute()).format("%a %-d %B %Y, %H:%M").to_string()
}
