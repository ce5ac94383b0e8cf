//! Why a document has no electronic form yet.

use baywright_domain::refusal::{Fault, Kind, Refusal};

/// Every reason why a document can't be an electronic invoice, each with the place and what to do there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("this document has no electronic form yet: {}", sentence(.faults))]
pub struct NotElectronic {
    /// The reasons, at least one.
    pub faults: Vec<Fault>,
}

fn sentence(faults: &[Fault]) -> String {
    faults.iter().map(|fault| fault.detail.as_str()).collect::<Vec<_>>().join("; ")
}

impl Refusal for NotElectronic {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "no-electronic-form"
    }

    fn faults(&self) -> Vec<Fault> {
        self.faults.clone()
    }
}
