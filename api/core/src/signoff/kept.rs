//! The sealed evidence of an acceptance, as canonical JSON beside the document that was shown.

use baywright_domain::signoff::{self, LinkTrail, Method};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::usecase::{Purpose, Subject};
use crate::platform::kept::{Moment, Word};

/// Form of the evidence that this program writes.
pub const FORM: u32 = 1;

/// Evidence of a sign-off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Evidence {
    /// Version of this document's format, counted up when fields are added.
    pub form: u32,
    /// Record that was signed.
    pub subject: EvidenceSubject,
    /// SHA-256 of the document that was shown, in lower-case hex.
    pub document_digest: String,
    /// Indexes of the lines that were chosen, from 0.
    pub choices: Vec<usize>,
    /// Totals of the chosen lines, as the feature of the document writes them.
    pub agreed: Value,
    /// Declaration of consent that was shown.
    pub consent: String,
    /// Name as it was typed.
    pub typed_name: String,
    /// Drawn signature, line by line, each point as x and y on a field of 10,000 by 10,000; null if nothing was drawn.
    pub strokes: Option<Vec<Vec<(u16, u16)>>>,
    /// Way of signing: by link, in person or by phone.
    pub method: Word<Method>,
    /// Id of the person who recorded a sign-off by phone or in person; else null.
    pub noted_by: Option<String>,
    /// Time of the sign-off, RFC 3339 in UTC.
    pub at: Moment,
    /// Network address of the request.
    pub address: String,
    /// Program that sent the request, as it named itself.
    pub agent: String,
    /// Link that was signed on, with its way to the customer; null if there was none.
    pub link: Option<EvidenceLink>,
    /// Whether the customer agreed that work may start within the 14 days in which they can withdraw; null if they were
    /// not asked.
    pub early_start: Option<bool>,
}

/// Record that was signed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EvidenceSubject {
    /// Kind of record: a quote or a variation.
    pub kind: Word<Purpose>,
    /// Id of the quote's revision, or of the variation.
    pub id: String,
}

/// Link that was signed on, with its way to the customer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EvidenceLink {
    /// Id of the link.
    pub id: String,
    /// Address or number that the link was sent to; empty if it was handed over.
    pub contact: String,
    /// Time when the link was sent, RFC 3339 in UTC.
    pub sent_at: Moment,
    /// Time when the link was first opened, RFC 3339 in UTC; null if that was not recorded.
    pub first_opened_at: Option<Moment>,
}

impl Evidence {
    /// The evidence of an acceptance of a subject. `agreed` contains the totals of the choices.
    pub fn of(subject: &Subject, evidence: &signoff::Evidence, agreed: &Value) -> Self {
        Self {
            form: FORM,
            subject: EvidenceSubject { kind: Word(subject.purpose), id: subject.id.clone() },
            document_digest: evidence.digest.clone(),
            choices: evidence.choices.clone(),
            agreed: agreed.clone(),
            consent: evidence.consent.clone(),
            typed_name: evidence.typed_name.clone(),
            strokes: evidence.strokes.as_ref().map(|strokes| strokes.lines().to_vec()),
            method: Word(evidence.method),
            noted_by: evidence.noted_by.as_ref().map(ToString::to_string),
            at: Moment(evidence.at.into()),
            address: evidence.address.clone(),
            agent: evidence.agent.clone(),
            link: evidence.link.as_ref().map(EvidenceLink::of),
            early_start: evidence.early_start,
        }
    }
}

impl EvidenceLink {
    fn of(trail: &LinkTrail) -> Self {
        Self {
            id: trail.link.to_string(),
            contact: trail.contact.clone(),
            sent_at: Moment(trail.sent_at.into()),
            first_opened_at: trail.first_opened_at.map(|at| Moment(at.into())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::platform::kept::golden::written_back;

    #[test]
    fn evidence_of_every_form_is_read_and_written_back() {
        let by_link: Evidence = written_back(include_str!("../../../../tests/data/kept/evidence-1.json"));
        assert_eq!((by_link.form, by_link.subject.kind.0), (FORM, Purpose::Quote));
        assert_eq!((by_link.method.0, by_link.choices.as_slice()), (Method::Link, [0, 2, 3].as_slice()));
        assert_eq!(by_link.strokes.unwrap()[1], [(2000, 4100)]);
        assert_eq!(by_link.link.unwrap().first_opened_at.unwrap().0.to_string(), "2026-03-05T18:11:00Z");
        assert_eq!(by_link.agreed["payable"]["amount"], "524.05");
        let by_phone: Evidence = written_back(include_str!("../../../../tests/data/kept/evidence-1-phone.json"));
        assert_eq!((by_phone.subject.kind.0, by_phone.method.0), (Purpose::Variation, Method::Phone));
        assert!(by_phone.noted_by.is_some() && by_phone.link.is_none() && by_phone.strokes.is_none());
    }
}
