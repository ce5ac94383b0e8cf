//! Something that somebody found at the car, such as a scratch under the dirt: a note, and if they know the work, a draft of a
//! variation with it. The desk checks the draft, with its prices, and sends it.

use std::collections::BTreeSet;

use baywright_domain::id::{JobId, PhotoId, VariationId};
use baywright_domain::menu::Code;
use rust_decimal::Decimal;

use super::create;
use crate::agreement::kept::VariationDraft;
use crate::agreement::usecase::agreed;
use crate::job;
use crate::job::usecase::NewNote;
use crate::platform::fail::Done;
use crate::platform::kept::Number;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::quote::kept::{DraftItem, DraftLine};

/// Maximum number of services that are proposed at once.
const MOST_SERVICES: usize = 10;

/// What was found.
#[derive(Debug, Clone)]
pub struct FoundWork {
    /// What it is, as the customer reads it if it becomes a variation.
    pub text: String,
    /// Code of the step at which it was found.
    pub step: Option<Code>,
    /// Codes of the services that would put it right; none if the desk should decide.
    pub services: BTreeSet<Code>,
    /// Photographs that were uploaded before.
    pub photos: Vec<PhotoId>,
}

/// Services that can be proposed for the car of a job, code and name: those of the signed menu that are not agreed already.
pub fn proposable(tx: &mut Tx<'_>, id: &JobId) -> Done<Vec<(Code, String)>> {
    let job = job::usecase::show(tx, id)?;
    let agreed = agreed(tx, &job.booking.quote)?;
    let sold: BTreeSet<Code> = agreed.services().into_iter().map(|one| one.service).collect();
    let open = agreed.quote.menu.services.iter().filter(|service| !sold.contains(&service.code));
    Ok(open.map(|service| (service.code.clone(), service.name.clone())).collect())
}

/// Keeps a note of what was found, and drafts a variation if services are proposed; gives its id.
///
/// # Errors
/// `NotAllowed` for a technician at a colleague's car; `Invalid` for a service that can't be proposed or priced; `Conflict`
/// if the work on the car is over.
pub fn found(tx: &mut Tx<'_>, id: &JobId, found: &FoundWork) -> Done<Option<VariationId>> {
    let open = proposable(tx, id)?;
    if found.services.len() > MOST_SERVICES {
        let detail = format!("Choose at most {MOST_SERVICES} services at once.");
        return Err(Refused::field("/services", "too_many", detail).into());
    }
    if found.services.iter().any(|code| !open.iter().any(|(known, _)| known == code)) {
        let detail = "One of these services is agreed already, or no longer on the menu. Choose from the list.";
        return Err(Refused::field("/services", "unknown_service", detail).into());
    }
    let note = NewNote {
        step: found.step.clone(),
        text: found.text.clone(),
        photos: found.photos.clone(),
        for_customer: false,
    };
    job::usecase::add_note(tx, id, &note)?;
    if found.services.is_empty() {
        return Ok(None);
    }
    let quote = job::usecase::show(tx, id)?.booking.quote;
    let line = |code: &Code| DraftLine {
        item: DraftItem::Service(code.to_string()),
        quantity: Number(Decimal::ONE),
        required: true,
        tax: None,
        discount: None,
    };
    let lines = found.services.iter().map(line).collect();
    let draft = VariationDraft { reason: found.text.clone(), lines, ..VariationDraft::nothing() };
    Ok(Some(create(tx, &quote, &draft)?.variation.id))
}
