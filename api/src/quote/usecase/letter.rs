//! The mails about a quote, in words; those about a variation say the same of the same things.

use baywright_domain::calendar::{Zone, ZoneRules, day_in_words};
use baywright_domain::document::Prices;

use super::Quote;
use crate::mail::compose::{Line, Notice, bodies};
use crate::mail::outbox::{Attachment, NewMail};
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::identity::Studio;
use crate::platform::tx::Tx;
use crate::platform::wire::Amount;
use crate::quote::form::{QuoteDocument, QuoteLine, QuoteTotals};
use crate::signoff::usecase::{Link, Signoff};
use crate::{mail, shop};

/// Said of every link in a mail.
pub const LINK_IS_YOURS: &str = "The link is meant for you alone. Whoever has it can answer for you.";

/// Said of every sealed file in a mail.
pub const KEEP_THE_FILE: &str = "The file that comes with this mail holds exactly what was shown and signed. Keep it: \
     with the two digests above anyone can check that nothing in it was changed.";

/// The quote itself, with the link to its page; `accepted` is an earlier revision that the customer has signed.
pub(super) fn offer(
    studio: &Studio,
    quote: &Quote,
    (document, accepted): (&QuoteDocument, Option<u32>),
    (to, message): (&str, &str),
    url: &str,
) -> Done<NewMail> {
    let (number, vehicle) = (&document.number, &document.vehicle.name);
    // Whoever has two mails of one quote must see which of them counts.
    let name = match document.revision {
        1 => number.clone(),
        revision => format!("{number}, revision {revision}"),
    };
    let first = match (document.revision, accepted) {
        (1, _) => format!("here is our quote {number} for {vehicle}."),
        (revision, None) => format!(
            "here is revision {revision} of our quote {number} for {vehicle}. It takes the place of the one before, which \
             counts no more."
        ),
        (revision, Some(accepted)) => format!(
            "here is revision {revision} of our quote {number} for {vehicle}. Revision {accepted}, which you accepted, \
             counts until you accept this one."
        ),
    };
    let mut opening = vec![first];
    opening.extend(paragraphs(message));
    let mut lines: Vec<Line> = document.lines.iter().map(line).collect();
    if let Some(totals) = &document.required_totals {
        lines.extend(sums(document, totals, "What is included, with tax"));
        if let Some(deposit) = &totals.deposit {
            lines.push(total("Of it as a deposit when the time is booked", deposit));
        }
    }
    let until = document
        .holds_until
        .map_or_else(String::new, |until| format!("the end of {}", last_day(&studio.zone, until.0)));
    let notice = Notice {
        title: format!("Quote {name}"),
        greeting: document.customer.name.clone(),
        opening,
        facts: facts(document, &until),
        lines,
        action: Some(("Read, choose and answer".to_owned(), url.to_owned())),
        closing: vec![
            "The page shows everything in full: what is done, what was found on the vehicle, and the conditions. \
             Nothing is agreed until you accept it there."
                .to_owned(),
            LINK_IS_YOURS.to_owned(),
        ],
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
    let mut lines = taken(document, signoff);
    lines.extend(sums(document, totals, "Total with tax"));
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
        facts: signed_facts(document, signoff),
        lines,
        action: None,
        closing: vec![document.conditions.clone(), KEEP_THE_FILE.to_owned()],
    };
    let subject = format!("Your copy: quote {} accepted", document.number);
    let mut mail = mail(studio, ("quote", quote.id.as_str()), document, to, "quote.signed", subject, &notice)?;
    mail.attachments.push(sealed);
    Ok(mail)
}

/// What a customer answered by a link.
pub enum Answered<'a> {
    /// They accepted, for that sum, in that name.
    Yes(&'a Amount, &'a str),
    /// They declined, for that reason, which may be empty.
    No(&'a str),
}

/// Tells the studio, where it has a mail address, what a customer answered by a link that they opened elsewhere: nobody
/// was there to see it. Other answers were given to somebody of the studio.
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
    let did = match answer {
        Answered::Yes(sum, name) => {
            facts.push(("Signed by".to_owned(), (*name).to_owned()));
            facts.push(("Agreed, with tax".to_owned(), sum.to_string()));
            "accepted"
        }
        Answered::No(reason) => {
            facts.extend((!reason.is_empty()).then(|| ("Reason".to_owned(), (*reason).to_owned())));
            "declined"
        }
    };
    let notice = Notice {
        title: format!("{customer} {did} {what}"),
        greeting: String::new(),
        opening: vec![format!("{customer} {did} {what} by the link that they were given.")],
        facts,
        lines: Vec::new(),
        action: None,
        closing: Vec::new(),
    };
    let subject = notice.title.clone();
    let studio = tx.studio.clone();
    let letter = mail(&studio, about, document, &to, "answer.received", subject, &notice)?;
    mail::outbox::send(tx, NewMail { to_name: studio.name, ..letter })?;
    Ok(())
}

/// A mail to the customer of a document, about that kind and id of record.
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

/// What identifies a sign-off in the customer's copy.
pub fn signed_facts(document: &QuoteDocument, signoff: &Signoff) -> Vec<(String, String)> {
    vec![
        ("Vehicle".to_owned(), vehicle(document)),
        ("Digest of what was shown".to_owned(), signoff.document_digest.clone()),
        ("Digest of the sign-off".to_owned(), signoff.evidence_digest.clone()),
    ]
}

/// The lines of a document that a sign-off took, as lines of a mail.
pub fn taken(document: &QuoteDocument, signoff: &Signoff) -> Vec<Line> {
    signoff.choices.iter().filter_map(|place| document.lines.get(*place)).map(line).collect()
}

fn facts(document: &QuoteDocument, until: &str) -> Vec<(String, String)> {
    let way = document.prices.0.label();
    vec![
        ("Vehicle".to_owned(), vehicle(document)),
        ("Holds until".to_owned(), until.to_owned()),
        ("Prices".to_owned(), way.to_owned()),
    ]
}

/// The car of a document: its name, with the registration where it has one.
pub fn vehicle(document: &QuoteDocument) -> String {
    let vehicle = &document.vehicle;
    match vehicle.registration.as_str() {
        "" => vehicle.name.clone(),
        plate => format!("{}, {plate}", vehicle.name),
    }
}

/// A line of a document as a line of a mail.
pub fn line(line: &QuoteLine) -> Line {
    let choice = if line.required { "" } else { " (your choice)" };
    Line { what: format!("{}{choice}", line.name), amount: line.amount.to_string(), total: false }
}

/// A total as a line of a mail.
pub fn total(what: &str, amount: &Amount) -> Line {
    Line { what: what.to_owned(), amount: amount.to_string(), total: true }
}

/// How the lines come to what is to be paid: discounts on the whole and, with prices without tax, the tax.
pub fn sums(document: &QuoteDocument, totals: &QuoteTotals, what: &str) -> Vec<Line> {
    let mut sums = Vec::new();
    if !totals.discounts.is_zero() {
        sums.push(Line { what: "Discounts".to_owned(), amount: totals.discounts.less(), total: false });
    }
    if document.prices.0 == Prices::Net {
        sums.push(Line { what: "Tax".to_owned(), amount: totals.tax.to_string(), total: false });
    }
    sums.push(total(what, &totals.payable));
    sums
}

/// The last day before a moment, in that zone: `Tue 3 March 2026`.
pub fn last_day(zone: &str, until: UtcTime) -> String {
    let Ok(zone) = Zone::named(zone) else { return until.to_string() };
    day_in_words(zone.to_local(until.plus_minutes(-1).minute()).date())
}

/// The paragraphs of what somebody wrote.
pub fn paragraphs(text: &str) -> impl Iterator<Item = String> {
    text.split("\n\n").map(str::trim).filter(|text| !text.is_empty()).map(str::to_owned)
}

/// A moment on the studio's wall: `Tue 3 March 2026, 09:30`.
pub fn local(studio: &Studio, at: UtcTime) -> String {
    let Ok(zone) = Zone::named(&studio.zone) else { return at.to_string() };
    zone.wall(at.minute())
}
