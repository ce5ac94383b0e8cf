//! The mails about a variation, in words.

use baywright_domain::id::VariationId;

use crate::mail::compose::{Line, Notice};
use crate::mail::outbox::{Attachment, NewMail};
use crate::platform::fail::Done;
use crate::platform::identity::Studio;
use crate::quote::form::{QuoteDocument, QuoteTotals};
use crate::quote::usecase::letter::{
    KEEP_THE_FILE, LINK_IS_YOURS, line, mail, paragraphs, signed_facts, taken, total, vehicle,
};
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
    opening.extend(paragraphs(message));
    let mut lines: Vec<Line> = document.lines.iter().map(line).collect();
    if let Some(totals) = &document.required_totals {
        lines.push(total("Change of the price, with tax", &totals.payable));
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
            LINK_IS_YOURS.to_owned(),
        ],
    };
    mail(
        studio,
        ("variation", id.as_str()),
        document,
        to,
        "variation.sent",
        format!("A change to quote {quote} from {}", studio.name),
        &notice,
    )
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
    let mut lines = taken(document, signoff);
    lines.push(total("Change of the price, with tax", &totals.payable));
    let notice = Notice {
        title: format!("Your copy of the change to quote {quote}"),
        greeting: document.customer.name.clone(),
        opening: vec![format!(
            "the change {} was accepted in the name of {}, {}.",
            document.number,
            signoff.typed_name,
            signoff.method.label()
        )],
        facts: signed_facts(document, signoff),
        lines,
        action: None,
        closing: vec![KEEP_THE_FILE.to_owned()],
    };
    let subject = format!("Your copy: change {} accepted", document.number);
    let mut mail = mail(studio, ("variation", id.as_str()), document, to, "variation.signed", subject, &notice)?;
    mail.attachments.push(sealed);
    Ok(mail)
}
