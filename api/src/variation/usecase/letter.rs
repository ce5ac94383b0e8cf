//! The mails about a variation, in words.

use baywright_domain::id::VariationId;

use crate::mail::compose::{Line, Notice, bodies};
use crate::mail::outbox::{Attachment, NewMail};
use crate::platform::fail::Done;
use crate::platform::identity::Studio;
use crate::quote::form::{QuoteDocument, QuoteLine, QuoteTotals};
use crate::signoff::usecase::Signoff;

/// The variation itself, with the link to its page.
pub(super) fn offer(
    studio: &Studio,
    id: &VariationId,
    document: &QuoteDocument,
    to: &str,
    message: &str,
    url: &str,
) -> Done<NewMail> {
    let quote = document.variation_of.as_deref().unwrap_or_default();
    let mut opening = vec![
        format!(
            "while we work on {}, something came up that changes what was agreed in quote {quote}.",
            vehicle(document)
        ),
        document.notes.clone(),
    ];
    opening.extend(message.split("\n\n").map(str::trim).filter(|text| !text.is_empty()).map(str::to_owned));
    let mut lines: Vec<Line> = document.lines.iter().map(line).collect();
    if let Some(totals) = &document.required_totals {
        lines.push(total("Change of the price, with tax", totals));
    }
    let notice = Notice {
        title: format!("A change to quote {quote}"),
        greeting: document.customer.name.clone(),
        opening,
        facts: vec![
            ("Vehicle".to_owned(), vehicle(document)),
            ("Prices".to_owned(), document.prices.0.label().to_owned()),
        ],
        lines,
        action: Some(("Read and answer".to_owned(), url.to_owned())),
        closing: vec![
            "None of this is done before you accept it. If you decline, the work goes on as it was agreed.".to_owned(),
            "The link is meant for you alone. Whoever has it can answer for you.".to_owned(),
        ],
    };
    mail(studio, id, document, to, "variation.sent", format!("A change to quote {quote} from {}", studio.name), &notice)
}

/// The customer's copy of what they signed, with the sealed record attached.
pub(super) fn copy(
    studio: &Studio,
    id: &VariationId,
    document: &QuoteDocument,
    to: &str,
    signoff: &Signoff,
    totals: &QuoteTotals,
    sealed: Attachment,
) -> Done<NewMail> {
    let quote = document.variation_of.as_deref().unwrap_or_default();
    let mut lines: Vec<Line> =
        signoff.choices.iter().filter_map(|place| document.lines.get(*place)).map(line).collect();
    lines.push(total("Change of the price, with tax", totals));
    let notice = Notice {
        title: format!("Your copy of the change to quote {quote}"),
        greeting: document.customer.name.clone(),
        opening: vec![format!(
            "the change {} was accepted in the name of {}, {}.",
            document.number,
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
            "The file that comes with this mail holds exactly what was shown and signed. Keep it: with the two digests \
             above anyone can check that nothing in it was changed."
                .to_owned(),
        ],
    };
    let subject = format!("Your copy: change {} accepted", document.number);
    let mut mail = mail(studio, id, document, to, "variation.signed", subject, &notice)?;
    mail.attachments.push(sealed);
    Ok(mail)
}

fn mail(
    studio: &Studio,
    id: &VariationId,
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
        about: ("variation", id.to_string()),
    })
}

fn vehicle(document: &QuoteDocument) -> String {
    let vehicle = &document.vehicle;
    match vehicle.registration.as_str() {
        "" => vehicle.name.clone(),
        plate => format!("{}, {plate}", vehicle.name),
    }
}

fn line(line: &QuoteLine) -> Line {
    let choice = if line.required { "" } else { " (your choice)" };
    Line { what: format!("{}{choice}", line.name), amount: line.amount.to_string(), total: false }
}

fn total(what: &str, totals: &QuoteTotals) -> Line {
    Line { what: what.to_owned(), amount: totals.payable.to_string(), total: true }
}
