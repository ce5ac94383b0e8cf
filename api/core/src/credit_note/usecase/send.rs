//! Mailing a credit note.

use baywright_domain::calendar::day_in_full;
use baywright_domain::id::CreditNoteId;
use serde_json::json;

use crate::invoice::kept::InvoiceDocument;
use crate::invoice::usecase::{self as invoice, CreditNote};
use crate::mail::compose::{Notice, Table, bodies};
use crate::mail::outbox::{self, Attachment, NewMail};
use crate::platform::fail::Done;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;

/// Mails the credit note to the customer, with the sealed document attached.
pub fn send(tx: &mut Tx<'_>, id: &CreditNoteId, seen: Seen) -> Done<CreditNote> {
    let credit = invoice::credit_note(tx, id)?;
    seen.check(credit.version)?;
    let customer = crate::customer::usecase::show(tx, &credit.customer)?;
    let Some(email) = customer.email() else {
        let detail = "The customer has no email address. Add one to their record, then send the credit note.";
        return Err(Refused::conflict("no-mail-address", detail).into());
    };
    let document = credit.document()?;
    let bodies = bodies(&tx.studio, &notice(&document, &credit))?;
    let mail = NewMail {
        kind: "credit-note.sent",
        to_name: document.buyer.name.clone(),
        to_email: email.to_owned(),
        subject: format!("Credit note {}", credit.number),
        text: bodies.text,
        html: bodies.html,
        attachments: vec![Attachment {
            name: format!("{}.json", credit.number),
            media_type: "application/json".to_owned(),
            bytes: credit.text.clone().into_bytes(),
        }],
        about: ("credit_note", id.to_string()),
    };
    outbox::send(tx, mail)?;
    invoice::credit_note_mailed(tx, &credit)?;
    let detail = json!({ "number": credit.number });
    record::write(tx, "credit-note.mailed", ("credit_note", id.as_str()), detail)?;
    invoice::credit_note(tx, id)
}

/// Content of the mail: the whole credit note.
fn notice(document: &InvoiceDocument, credit: &CreditNote) -> Notice {
    let fact = |label: &str, value: Option<String>| value.map(|value| (label.to_owned(), value));
    let preceding = document.preceding.first();
    let facts = [
        fact("Credit note", Some(credit.number.clone())),
        fact("Date", document.issued_on.map(|day| day_in_full(day.0))),
        fact("For invoice", preceding.map(|invoice| invoice.number.clone())),
        fact("Reason", document.reason.clone()),
        fact("VAT number", document.seller.vat_id.clone()),
        fact("Your VAT number", document.buyer.vat_id.clone()),
        fact("Your order", document.purchase_order.clone()),
        fact("Vehicle", document.vehicle.clone()),
    ];
    let of = preceding.map_or(String::new(), |invoice| format!(" on invoice {}", invoice.number));
    let mut closing = invoice::reasons(document);
    closing.push("If something is wrong with it, please reply to this email.".to_owned());
    closing.push("The attached file contains the same credit note for accounting programs.".to_owned());
    Notice {
        title: format!("Credit note {}", credit.number),
        greeting: document.buyer.name.clone(),
        opening: vec![
            format!("We have credited {}{of}.", document.totals.payable),
            "It reduces what you still have to pay. If you have paid more than that already, we will return it or use it \
             for your next invoice, as you wish."
                .to_owned(),
        ],
        facts: facts.into_iter().flatten().collect(),
        tables: vec![Table { heading: String::new(), lines: invoice::lines(document) }],
        closing,
        ..Notice::default()
    }
}
