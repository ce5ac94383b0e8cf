//! Publishing the draft, and the revisions that were published.

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::document::Prices;
use baywright_domain::id::{MenuRevisionId, PersonId};
use serde_json::json;

use super::draft::{Judged, draft, judged, written};
use super::{Revision, find_in_force_at, kept};
use crate::menu::kept::MenuForm;
use crate::menu::store;
use crate::platform::canonical::digest;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::{FieldFault, Refused};
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};

/// Number of faults a problem names.
const FAULTS: usize = 200;

/// Publishes the draft from a given time, or from now; the draft stays as it is. If the revision in force at that time
/// has the same content, no new one is made and that revision is returned. Suspicious values cause warnings.
///
/// # Errors
/// `Conflict` if the start looks like a wrong year; `ChangedMeanwhile` if the draft has another version; `Invalid` with
/// every fault of the draft, or for a start in the past.
pub fn publish(tx: &mut Tx<'_>, seen: Seen, from: Option<UtcTime>, note: &str) -> Done<Revision> {
    let draft = draft(tx)?;
    seen.check(draft.version)?;
    let from = from.unwrap_or(tx.now);
    if from < tx.now {
        let detail = "A menu can't take effect in the past. Give a later time, or leave it out to publish now.";
        return Err(Refused::field("/from", "past", detail).into());
    }
    let day = Zone::named(&tx.studio.zone)?.to_local(from.minute()).date();
    tx.must_confirm_days((day, day), None)?;
    let Judged { menu, faults, warnings } = judged(tx, &draft.menu)?;
    if !faults.is_empty() {
        let detail = format!(
            "The menu has {} faults. Correct what GET /v1/menu/draft/validation lists, then publish it.",
            faults.len()
        );
        let faults = faults.into_iter().take(FAULTS).map(FieldFault::from).collect();
        return Err(Refused::invalid("menu-faulty", detail).with_faults(faults).into());
    }
    for warning in warnings {
        tx.warn(&warning.code.replace('_', "-"), warning.pointer, format!("{}.", capital(&warning.detail)));
    }
    if let Some(same) =
        find_in_force_at(tx, from)?.filter(|now| now.form == draft.menu && now.menu.prices == menu.prices)
    {
        let detail =
            format!("The draft is the same as revision {}, so no new revision was made.", same.revision.number);
        tx.warn("nothing-changed", "", detail);
        return Ok(same.revision);
    }
    insert(tx, &draft.menu, menu.prices, from, note)
}

/// Stores a menu as the next revision.
pub(super) fn insert(tx: &mut Tx<'_>, menu: &MenuForm, prices: Prices, from: UtcTime, note: &str) -> Done<Revision> {
    let content = written(menu)?;
    let revision = Revision {
        id: ids::new(),
        number: store::last_number(tx)? + 1,
        from,
        note: note.to_owned(),
        digest: digest(&content),
        published_by: tx.actor.person().cloned(),
        published_at: tx.now,
        prices,
        withdrawn_at: None,
    };
    match store::insert_revision(tx, &revision, &content) {
        Err(error) if error.is_taken() => {
            let detail = "Someone published the menu at the same moment. Look at what they published, then try again.";
            return Err(Refused::conflict("published-meanwhile", detail).into());
        }
        other => other?,
    }
    let detail = json!({
        "number": revision.number.to_string(),
        "from": revision.from.to_string(),
        "digest": revision.digest,
        "prices": prices.as_str(),
        "by": revision.published_by.as_ref().map_or("", PersonId::as_str),
    });
    record::write(tx, "menu.published", ("menu_revision", revision.id.as_str()), detail)?;
    Ok(revision)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// One page of the published revisions, and the one that is in force now.
pub fn revisions(tx: &mut Tx<'_>, paging: &Paging) -> Done<(Slice<Revision>, Option<MenuRevisionId>)> {
    let rows = store::revisions(tx, paging)?;
    let page = paging.page(rows, |revision| Mark::of_id(revision.id.as_str()));
    Ok((page, store::id_in_force(tx)?))
}

/// One revision with its menu as it was published.
///
/// # Errors
/// `NotFound` if the shop has no such revision.
pub fn show_revision(tx: &mut Tx<'_>, id: &MenuRevisionId) -> Done<(Revision, MenuForm)> {
    let (revision, content) = store::revision(tx, id)?.ok_or_else(|| Refused::not_found("revision of the menu"))?;
    Ok((revision, kept(&content)?))
}

/// Whether that revision is the one in force now.
pub fn is_in_force(tx: &mut Tx<'_>, id: &MenuRevisionId) -> Done<bool> {
    Ok(store::id_in_force(tx)?.as_ref() == Some(id))
}
