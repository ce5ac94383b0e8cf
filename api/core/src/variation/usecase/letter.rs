//! The mails about a variation.

use baywright_domain::id::VariationId;

use crate::mail::compose::Notice;
use crate::mail::outbox::{Attachment, NewMail};
use crate::platform::fail::Done;
use crate::platform::identity::Studio;
use crate::quote::kept::{QuoteDocument, QuoteTotals};
use crate::quote::usecase::letter::{
    KEEP_THE_FILE, LINK_IS_YOURS, about_vat, local, mail, offered, paragraphs, proof, taken, vehicle,
};
use crate::signoff::usecase::Signoff;

/// Label of a variation's total.
const CHANGE: &str = "Change in price, including VAT";

/// The mail with the link to a variation's page.
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
            "While working on your car we found something that would change what we agreed in quote {quote}. Please read it \
             and let us know whether we should do it."
        ),
        document.notes.clone(),
    ];
    opening.extend(paragraphs(message));
    let notice = Notice {
        title: format!("A change to quote {quote}"),
        greeting: document.customer.name.clone(),
        opening,
        facts: facts(studio, document, document.required_totals.as_ref()),
        tables: offered(document, "What would change", CHANGE),
        action: Some(("Read and reply".to_owned(), url.to_owned())),
        closing: vec![
            "We will not start on this before you accept. If you decline, we carry on with the work as agreed."
                .to_owned(),
            LINK_IS_YOURS.to_owned(),
        ],
        parts: Vec::new(),
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

/// The car, and the effect of the change: the whole price before and after it, and when the car will be ready.
fn facts(studio: &Studio, document: &QuoteDocument, totals: Option<&QuoteTotals>) -> Vec<(String, String)> {
    let mut facts =
        vec![("Vehicle".to_owned(), vehicle(document)), ("Prices".to_owned(), about_vat(document).to_owned())];
    let Some(change) = &document.change else { return facts };
    facts.push(("Agreed so far".to_owned(), change.agreed_before.to_string()));
    if let Some(whole) = totals.and_then(|totals| change.total_with(&totals.payable)) {
        facts.push(("New total, including VAT".to_owned(), whole.to_string()));
    }
    let ready = match change.ready_after {
        Some(after) => local(studio, after.0),
        None => "We will let you know".to_owned(),
    };
    facts.push(("Ready by".to_owned(), ready));
    facts
}

/// The customer's copy of what they signed, with the sealed record attached, and the address of the page for their stay.
pub(super) fn copy(
    studio: &Studio,
    id: &VariationId,
    document: &QuoteDocument,
    (to, page): (&str, String),
    signoff: &Signoff,
    totals: &QuoteTotals,
    sealed: Attachment,
) -> Done<NewMail> {
    let quote = document.variation_of.as_deref().unwrap_or_default();
    let notice = Notice {
        title: format!("Your copy of the change to quote {quote}"),
        greeting: document.customer.name.clone(),
        opening: vec![format!(
            "Thank you. {} accepted the change {} {}. It is now part of what we agreed.",
            signoff.typed_name,
            document.number,
            signoff.method.label()
        )],
        facts: facts(studio, document, Some(totals)),
        tables: vec![taken(document, signoff, totals, CHANGE)],
        action: Some(("See how the work goes".to_owned(), page)),
        closing: vec![KEEP_THE_FILE.to_owned(), LINK_IS_YOURS.to_owned()],
        parts: vec![proof(signoff)],
    };
    let subject = format!("Your copy: change {} accepted", document.number);
    let mut mail = mail(studio, ("variation", id.as_str()), document, to, "variation.signed", subject, &notice)?;
    mail.attachments.push(sealed);
    Ok(mail)
}
