//! Merging one customer's record into another's, and undoing it.
//!
//! The remaining record gets the contact details and other values that it lacks; the merged one stays as it was, so
//! that its values can be taken out again. Values that were taken over are named by field and position, never by
//! content, so that the log can contain them.

use baywright_domain::customer::Consent;
use baywright_domain::merge::{RecordMove, merge_consents};
use serde::{Deserialize, Serialize};

use super::super::store;
use super::{Customer, Details, KeptConsent, indexed};
use crate::platform::fail::Done;
use crate::platform::phone;
use crate::platform::tx::Tx;
use crate::search;

/// Maximum number of email addresses, and of telephone numbers, of a customer.
pub const MOST_REACHES: usize = 5;

/// Values that one record took over from another.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct TakenOver {
    /// Fields that were empty and now have the merged record's value.
    pub fields: Vec<String>,
    /// Positions of the merged record's email addresses that were added.
    pub emails: Vec<usize>,
    /// Positions of the merged record's telephone numbers that were added.
    pub phones: Vec<usize>,
    /// Consents that moved.
    pub consents_moved: Vec<String>,
    /// Consents of the remaining record that ended.
    pub consents_ended: Vec<String>,
}

/// Marks `gone` as merged into `kept`. The rest of the merge follows, since rows can be pointed to another customer only
/// along a merge.
pub fn mark(tx: &mut Tx<'_>, gone: &Customer, kept: &Customer) -> Done<()> {
    gone.state().go(RecordMove::Merge)?;
    // The shop's own number is unique, so it is removed before the other record can have it.
    if takes_reference(&kept.details, &gone.details) {
        store::set_reference(tx, &gone.id, None)?;
    }
    store::set_merged(tx, &gone.id, gone.version + 1, Some(&kept.id))?;
    search::usecase::forget(tx, gone.id.as_str())
}

/// Copies to `kept` the values of `gone` that it lacks, and the valid consents; returns what was taken over.
pub fn take_over(tx: &mut Tx<'_>, kept: &Customer, gone: &Customer) -> Done<(Customer, TakenOver)> {
    let country = tx.studio.country;
    let mut details = kept.details.clone();
    let mut taken = filled(&mut details, &gone.details);
    let key = |typed: &String| phone::key(typed, country);
    taken.phones = added(&mut details.phones, &gone.details.phones, key);
    taken.emails = added(&mut details.emails, &gone.details.emails, |mail| baywright_domain::search::fold(mail));
    store::update(tx, &kept.id, kept.version + 1, &details)?;
    let settled = merge_consents(&consents(&kept.consents), &consents(&gone.consents));
    for place in settled.ended {
        taken.consents_ended.extend(store::end_consent(tx, &kept.id, kept.consents[place].consent.kind)?);
    }
    for place in settled.moved {
        let kind = gone.consents[place].consent.kind;
        taken.consents_moved.extend(store::move_consent(tx, &gone.id, &kept.id, kind)?);
    }
    Ok((indexed(tx, &kept.id)?, taken))
}

/// Removes what was taken over, as far as it has not changed since.
pub fn give_back(tx: &mut Tx<'_>, kept: &Customer, gone: &Customer, taken: &TakenOver) -> Done<(Customer, Customer)> {
    gone.state().go(RecordMove::Separate)?;
    let mut details = kept.details.clone();
    let mut back = gone.details.clone();
    emptied(&mut details, &mut back, &taken.fields);
    let theirs = |all: &[String], places: &[usize]| -> Vec<String> {
        places.iter().filter_map(|place| all.get(*place)).cloned().collect()
    };
    let (mails, phones) = (theirs(&back.emails, &taken.emails), theirs(&back.phones, &taken.phones));
    details.emails.retain(|mail| !mails.contains(mail));
    details.phones.retain(|typed| !phones.contains(typed));
    store::update(tx, &kept.id, kept.version + 1, &details)?;
    store::update(tx, &gone.id, gone.version + 1, &back)?;
    store::set_merged(tx, &gone.id, gone.version + 1, None)?;
    store::give_consents_back(tx, &gone.id, &taken.consents_moved)?;
    store::let_consents_stand(tx, &kept.id, &taken.consents_ended)?;
    Ok((indexed(tx, &kept.id)?, indexed(tx, &gone.id)?))
}

/// Indexes a customer again, after records that were merged into theirs changed.
pub fn index(tx: &mut Tx<'_>, customer: &Customer) -> Done<()> {
    indexed(tx, &customer.id).map(drop)
}

fn consents(kept: &[KeptConsent]) -> Vec<Consent> {
    kept.iter().map(|kept| kept.consent).collect()
}

fn takes_reference(kept: &Details, gone: &Details) -> bool {
    kept.reference.is_none() && gone.reference.is_some()
}

/// Fills the empty fields of `kept`; returns their names.
fn filled(kept: &mut Details, gone: &Details) -> TakenOver {
    let mut fields = Vec::new();
    if takes_reference(kept, gone) {
        kept.reference.clone_from(&gone.reference);
        fields.push("reference");
    }
    if kept.contact_name.is_none() && gone.contact_name.is_some() {
        kept.contact_name.clone_from(&gone.contact_name);
        fields.push("contact_name");
    }
    if kept.address.is_none() && gone.address.is_some() {
        kept.address.clone_from(&gone.address);
        fields.push("address");
    }
    if kept.vat_id.is_none() && gone.vat_id.is_some() {
        kept.vat_id.clone_from(&gone.vat_id);
        fields.push("vat_id");
    }
    if kept.notes.is_empty() && !gone.notes.is_empty() {
        kept.notes.clone_from(&gone.notes);
        fields.push("notes");
    }
    TakenOver { fields: fields.into_iter().map(str::to_owned).collect(), ..TakenOver::default() }
}

/// Empties the fields of `kept` that still have the value of `gone`; the shop's own number goes back with its current
/// value.
fn emptied(kept: &mut Details, gone: &mut Details, fields: &[String]) {
    for field in fields {
        match field.as_str() {
            "reference" => gone.reference = kept.reference.take(),
            "contact_name" => clear(&mut kept.contact_name, gone.contact_name.as_ref()),
            "address" => clear(&mut kept.address, gone.address.as_ref()),
            "vat_id" => clear(&mut kept.vat_id, gone.vat_id.as_ref()),
            "notes" if kept.notes == gone.notes => kept.notes.clear(),
            _ => {}
        }
    }
}

fn clear<T: PartialEq>(kept: &mut Option<T>, gone: Option<&T>) {
    if kept.as_ref() == gone {
        *kept = None;
    }
}

/// Adds to `kept` the contact details that only `gone` has, as far as there is room; returns their positions in `gone`.
fn added<K: PartialEq>(kept: &mut Vec<String>, gone: &[String], key: impl Fn(&String) -> K) -> Vec<usize> {
    let mut places = Vec::new();
    for (place, text) in gone.iter().enumerate() {
        if kept.len() < MOST_REACHES && kept.iter().all(|known| key(known) != key(text)) {
            kept.push(text.clone());
            places.push(place);
        }
    }
    places
}
