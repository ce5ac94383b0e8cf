//! Recomputing every seal, for `baywright verify`.

use serde_json::Value;

use crate::platform::canonical::{canonical, digest};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::signoff::usecase::Signoff;
use crate::{agreement, invoice, payment, quote, signoff};

/// A broken seal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// The kind of record: `quote_revision`, `variation`, `invoice`, `credit_note`, `refund` or `signoff`.
    pub kind: &'static str,
    /// Its id.
    pub id: String,
    /// Description of the fault.
    pub why: &'static str,
}

impl std::fmt::Display for Broken {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "the seal of {} {} is broken: {}", self.kind, self.id, self.why)
    }
}

/// Number of documents that are read at a time.
const BATCH: i64 = 200;

/// Id, document and digest of the documents that a feature ever sent, after an id, up to a limit.
type Sealed = fn(&mut Tx<'_>, &str, i64) -> Done<Vec<(String, String, String)>>;

/// Every broken seal of the shop: revisions, variations, invoices, credit notes and receipts of refunds whose
/// document was altered, and sign-offs whose
/// document or evidence was altered, or whose evidence refers to another document. An empty list means that all seals
/// are valid.
pub fn verify_seals(tx: &mut Tx<'_>) -> Done<Vec<Broken>> {
    let mut broken = Vec::new();
    let mut after = String::new();
    let kinds: [(&'static str, Sealed); 5] = [
        ("quote_revision", quote::usecase::sealed_documents),
        ("variation", agreement::usecase::sealed_documents),
        ("invoice", invoice::usecase::sealed_documents),
        ("credit_note", invoice::usecase::sealed_credit_notes),
        ("refund", payment::usecase::sealed_receipts),
    ];
    for (kind, sealed_documents) in kinds {
        loop {
            let batch = sealed_documents(tx, &after, BATCH)?;
            let Some((last, ..)) = batch.last() else { break };
            after.clone_from(last);
            for (id, document, sealed) in batch {
                if let Some(why) = text_fault(&document, &sealed) {
                    broken.push(Broken { kind, id, why });
                }
            }
        }
        after.clear();
    }
    loop {
        let batch = signoff::usecase::signoffs(tx, &after, BATCH)?;
        let Some(last) = batch.last() else { break };
        after = last.id.to_string();
        for signoff in batch {
            if let Some(why) = signoff_fault(&signoff) {
                broken.push(Broken { kind: "signoff", id: signoff.id.to_string(), why });
            }
        }
    }
    Ok(broken)
}

fn text_fault(text: &str, sealed: &str) -> Option<&'static str> {
    if digest(text) != sealed {
        return Some("the text is not the one that was sealed");
    }
    let again = serde_json::from_str::<Value>(text).ok().and_then(|value| canonical(&value).ok());
    (again.as_deref() != Some(text)).then_some("the text is not canonical JSON")
}

fn signoff_fault(signoff: &Signoff) -> Option<&'static str> {
    if let Some(why) = text_fault(&signoff.document, &signoff.document_digest) {
        return Some(why);
    }
    if let Some(why) = text_fault(&signoff.evidence, &signoff.evidence_digest) {
        return Some(why);
    }
    let evidence: Value = serde_json::from_str(&signoff.evidence).ok()?;
    let says = |name: &str| evidence.get(name).and_then(Value::as_str).unwrap_or_default();
    let choices: Option<Vec<u64>> =
        evidence.get("choices").and_then(Value::as_array).map(|all| all.iter().filter_map(Value::as_u64).collect());
    let kept: Vec<u64> = signoff.choices.iter().map(|at| u64::try_from(*at).unwrap_or(u64::MAX)).collect();
    let matches = says("document_digest") == signoff.document_digest
        && says("typed_name") == signoff.typed_name
        && says("method") == signoff.method.as_str()
        && choices.as_ref() == Some(&kept);
    (!matches).then_some("the evidence is about another document or signature")
}
