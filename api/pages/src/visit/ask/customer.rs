//! Forms about what the customer is offered: the quote and its variations.

use baywright_core::agreement::usecase as agreement;
use baywright_core::customer;
use baywright_core::platform::fail::Done;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::quote::kept::QuoteDocument;
use baywright_core::quote::usecase as quote;
use baywright_core::variation::usecase as variation;
use baywright_core::visit::usecase::Told;
use baywright_domain::variation::VariationState;

use super::{Asked, reason};
use crate::platform::form::Input;
use crate::visit::act::Verb;

pub(super) fn asked(tx: &mut Tx<'_>, told: &Told, verb: Verb) -> Done<Asked> {
    match verb {
        Verb::SendVariation | Verb::VariationAccepted | Verb::VariationDeclined => of_variation(tx, told, verb),
        _ => of_quote(tx, told, verb),
    }
}

fn of_quote(tx: &mut Tx<'_>, told: &Told, verb: Verb) -> Done<Asked> {
    let shown = quote::show(tx, &told.visit.head.quote)?;
    let form = Asked::of(verb, shown.quote.id.as_str(), shown.quote.version);
    let revision = shown.revision;
    let form = form.facts(revision.document.as_ref().map(facts).unwrap_or_default());
    Ok(match verb {
        Verb::Send => mailed(form, &main_email(tx, told)?),
        Verb::SendAgain => form
            .lead("The email that was lost is sent once more, with a new link. Earlier links still work.")
            .input(Input::email("email", "Email address"))
            .input(message())
            .filled("email", main_email(tx, told)?),
        Verb::Accepted => accepted(form, revision.document.as_ref(), revision.digest, told),
        Verb::Withdraw => {
            form.lead("The customer can no longer accept this quote. Its page says so.").input(reason().optional())
        }
        _ => form.lead("Use this if the customer told you that they do not want it.").input(reason().optional()),
    })
}

/// The variation that is not answered.
///
/// # Errors
/// `Conflict` if there is none.
pub(in crate::visit) fn unanswered(tx: &mut Tx<'_>, told: &Told) -> Done<variation::Shown> {
    for id in told.variations.iter().rev() {
        let is_open = matches!(agreement::find(tx, id)?.state, VariationState::Draft | VariationState::Sent);
        if is_open {
            return variation::show(tx, id);
        }
    }
    Err(Refused::conflict("wrong-state", "Every variation of this stay is answered.").into())
}

fn of_variation(tx: &mut Tx<'_>, told: &Told, verb: Verb) -> Done<Asked> {
    let shown = unanswered(tx, told)?;
    let form = Asked::of(verb, shown.variation.id.as_str(), shown.variation.version);
    let mut about = vec![("Reason".to_owned(), shown.variation.draft.reason.clone())];
    about.extend(shown.document.as_ref().map(facts).unwrap_or_default());
    let form = form.facts(about);
    Ok(match verb {
        Verb::SendVariation => mailed(form, &main_email(tx, told)?),
        Verb::VariationAccepted => {
            let digest = shown.variation.frozen.map(|frozen| frozen.digest);
            accepted(form, shown.document.as_ref(), digest, told)
        }
        _ => form.lead("The work goes on as it was agreed before.").input(reason().optional()),
    })
}

/// The lines of a document with their amounts, and its total.
fn facts(document: &QuoteDocument) -> Vec<(String, String)> {
    let lines = document.lines.iter().map(|line| {
        let name = if line.required { line.name.clone() } else { format!("{} (optional)", line.name) };
        (name, line.amount.to_string())
    });
    let total = document.required_totals.as_ref().map(|totals| {
        let label = if document.lines.iter().all(|line| line.required) {
            "Total, with VAT"
        } else {
            "Total without options, with VAT"
        };
        (label.to_owned(), totals.payable.to_string())
    });
    lines.chain(total).collect()
}

fn main_email(tx: &mut Tx<'_>, told: &Told) -> Done<String> {
    let found = customer::usecase::of_ids(tx, std::slice::from_ref(&told.visit.head.customer))?;
    Ok(found.into_iter().next().and_then(|one| one.details.emails.into_iter().next()).unwrap_or_default())
}

fn message() -> Input {
    Input::line("message", "Personal message").hint("It stands at the top of the email.").optional()
}

/// A form that freezes a document and mails it.
fn mailed(form: Asked, email: &str) -> Asked {
    let by_mail = if email.is_empty() { "" } else { "yes" };
    form.lead("From then on the customer can accept it, and it can no longer be changed.")
        .input(
            Input::ticks("by_mail", "How it is sent", vec![("yes".to_owned(), "By email, with a link".to_owned())])
                .hint("If you untick this, no email goes out: record the answer by phone."),
        )
        .input(Input::email("email", "Email address").optional())
        .input(message())
        .filled("by_mail", by_mail)
        .filled("email", email)
}

/// A form that records an acceptance by phone.
fn accepted(form: Asked, document: Option<&QuoteDocument>, digest: Option<String>, told: &Told) -> Asked {
    let mut form = form
        .lead("Read the consent to the customer. Their acceptance is sealed in your name.")
        .input(Input::hidden("digest"))
        .filled("digest", digest.unwrap_or_default())
        .input(Input::line("name", "Who accepted"))
        .filled("name", told.visit.head.customer_name.clone());
    let Some(document) = document else { return form };
    let lines = document.lines.iter().enumerate().filter(|(_, line)| !line.required);
    let options: Vec<(String, String)> =
        lines.map(|(at, line)| (at.to_string(), format!("{}, {}", line.name, line.amount))).collect();
    if !options.is_empty() {
        form = form.input(Input::ticks("choices", "Options that they take", options));
    }
    let mut aloud = vec![document.consent.clone()];
    if let Some(question) = &document.early_start {
        aloud.push(question.clone());
        let answers = [("", "Choose"), ("yes", "Yes, it may start"), ("no", "No, wait 14 days")];
        let answers = answers.map(|(value, label)| (value.to_owned(), label.to_owned())).to_vec();
        form = form.input(Input::line("early_start", "May the work start within 14 days?").options(answers));
    }
    let agreed = vec![("yes".to_owned(), "I read it to them, and they agreed".to_owned())];
    form.aloud(aloud).input(Input::ticks("agreed", "Consent", agreed)).button("Record the acceptance")
}
