//! Takes the forms about what the customer is offered.

use baywright_core::answer;
use baywright_core::platform::fail::Done;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::quote::usecase::{self as quote, ByMail, NotedYes};
use baywright_core::variation::usecase as variation;
use baywright_core::visit::usecase::Told;
use baywright_http::platform::wire::{Email, Line, Text};

use super::is_of;
use crate::platform::form::{Fields, Reading};
use crate::visit::act::Verb;
use crate::visit::ask::unanswered;

pub(super) fn take(tx: &mut Tx<'_>, told: &Told, verb: Verb, fields: &Fields) -> Done<()> {
    let seen = Reading::of(fields).version()?;
    let id = &told.visit.head.quote;
    match verb {
        Verb::Send => {
            quote::send(tx, id, seen, by_mail(fields)?.as_ref())?;
        }
        Verb::SendAgain => {
            let mut form = Reading::of(fields);
            let email = form.needed("email", |text| Email::parse(text.trim()));
            let message = form.optional("message", Text::<2000>::parse);
            let email = Some(form.done(email)?.into_string());
            let message = message.map(Text::into_string).unwrap_or_default();
            quote::send_again(tx, id, seen, &ByMail { email, message })?;
        }
        Verb::Accepted => {
            answer::usecase::note_yes(tx, id, seen, &yes(fields)?)?;
        }
        Verb::Declined => {
            quote::note_no(tx, id, seen, &reason(fields)?)?;
        }
        Verb::Withdraw => {
            quote::withdraw(tx, id, seen, &reason(fields)?)?;
        }
        _ => {
            let id = unanswered(tx, told)?.variation.id;
            is_of(fields, id.as_str())?;
            match verb {
                Verb::SendVariation => variation::send(tx, &id, seen, by_mail(fields)?.as_ref())?,
                Verb::VariationAccepted => variation::note_yes(tx, &id, seen, &yes(fields)?)?,
                _ => variation::note_no(tx, &id, seen, &reason(fields)?)?,
            };
        }
    }
    Ok(())
}

/// The mail that a form asks for; `None` if it asks for none.
fn by_mail(fields: &Fields) -> Result<Option<ByMail>, Refused> {
    let mut form = Reading::of(fields);
    let email = form.optional("email", |text| Email::parse(text.trim())).map(Email::into_string);
    let message = form.optional("message", Text::<2000>::parse).map(Text::into_string).unwrap_or_default();
    let mail = form.done(Some(ByMail { email, message }))?;
    Ok(fields.yes("by_mail").then_some(mail))
}

fn reason(fields: &Fields) -> Result<String, Refused> {
    let mut form = Reading::of(fields);
    let reason = form.optional("reason", Text::<1000>::parse).map(Text::into_string).unwrap_or_default();
    form.done(Some(reason))
}

/// The acceptance that a form records.
fn yes(fields: &Fields) -> Result<NotedYes, Refused> {
    let mut form = Reading::of(fields);
    let name = form.needed("name", Line::<200>::parse);
    if !fields.yes("agreed") {
        form.fault("agreed", "missing", "Read the consent to the customer, then tick this if they agreed.");
    }
    let ticked = fields.all("choices").filter_map(|at| at.parse().ok()).collect();
    let name = form.done(name)?.into_string();
    let early_start = fields.yes_or_no("early_start");
    Ok(NotedYes { digest: fields.text("digest"), name, agreed: true, ticked, early_start })
}
