//! Sealing an acceptance: the evidence as canonical JSON, its digest, and the log's record of both.

use baywright_domain::id::PersonId;
use baywright_domain::signoff::Evidence;
use serde_json::{Value, json};

use super::{Signoff, Subject};
use crate::platform::canonical::{canonical, digest};
use crate::platform::fail::{Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::signoff::{kept, store};

/// The sign-off of a subject, if it was signed.
pub fn find(tx: &mut Tx<'_>, subject: &Subject) -> Done<Option<Signoff>> {
    Ok(store::find(tx, subject)?)
}

/// Up to `most` sign-offs after that id, in order of id, for [`crate::seal`] to verify.
pub fn signoffs(tx: &mut Tx<'_>, after: &str, most: i64) -> Done<Vec<Signoff>> {
    Ok(store::batch(tx, after, most)?)
}

/// Seals an acceptance for good. `agreed` contains the totals of the choices; it is sealed with the evidence.
///
/// # Errors
/// `Conflict` if the subject is signed already.
pub fn seal(tx: &mut Tx<'_>, subject: &Subject, evidence: &Evidence, agreed: &Value) -> Done<Signoff> {
    let sealed = serde_json::to_value(kept::Evidence::of(subject, evidence, agreed)).map_err(Fail::unexpected)?;
    let text = canonical(&sealed).map_err(Fail::unexpected)?;
    let signoff = Signoff {
        id: ids::new(),
        subject: subject.clone(),
        document: evidence.document.clone(),
        document_digest: evidence.digest.clone(),
        evidence_digest: digest(&text),
        evidence: text,
        choices: evidence.choices.clone(),
        method: evidence.method,
        typed_name: evidence.typed_name.clone(),
        noted_by: evidence.noted_by.clone(),
        link: evidence.link.as_ref().map(|trail| trail.link.clone()),
        early_start: evidence.early_start,
        signed_at: evidence.at.into(),
    };
    let choices = serde_json::to_string(&signoff.choices).map_err(Fail::unexpected)?;
    let shop = tx.studio.id.clone();
    let row = store::NewRow {
        id: signoff.id.as_str(),
        shop_id: shop.as_str(),
        subject_kind: subject.purpose.as_str(),
        subject_id: &subject.id,
        document: &signoff.document,
        document_digest: &signoff.document_digest,
        evidence: &signoff.evidence,
        evidence_digest: &signoff.evidence_digest,
        choices: &choices,
        method: signoff.method.as_str(),
        typed_name: &signoff.typed_name,
        noted_by: signoff.noted_by.as_ref().map(PersonId::as_str),
        link_id: signoff.link.as_ref().map(baywright_domain::id::LinkId::as_str),
        early_start: signoff.early_start,
        signed_at: signoff.signed_at.ms(),
    };
    store::insert(tx, &row).map_err(|error| {
        if error.is_taken() {
            Fail::from(Refused::conflict(
                "already-signed",
                "This was already signed. Nothing was signed a second time.",
            ))
        } else {
            error.into()
        }
    })?;
    let detail = json!({
        "method": signoff.method.as_str(), "subject_kind": subject.purpose.as_str(), "subject_id": subject.id,
        "document_digest": signoff.document_digest, "evidence_digest": signoff.evidence_digest,
    });
    record::write(tx, "signoff.sealed", ("signoff", signoff.id.as_str()), detail)?;
    Ok(signoff)
}
