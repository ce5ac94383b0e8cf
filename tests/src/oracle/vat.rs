//! `vat`: check digits of a VAT identifier.

use baywright_domain::vat_id::{VatCheck, VatId};
use serde::{Deserialize, Serialize};

use super::Answer;

/// A number as it was typed.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    vat_id: String,
}

/// What its check digits say.
#[derive(Serialize)]
pub struct Verdict {
    check: &'static str,
}

/// Judges the number.
pub fn answer(case: Case) -> Answer<Verdict> {
    let number = VatId::parse(&case.vat_id).map_err(|refusal| refusal.to_string())?;
    let check = match number.check() {
        VatCheck::Right => "RIGHT",
        VatCheck::Wrong => "WRONG",
        VatCheck::Unknown => "UNKNOWN",
    };
    Ok(Verdict { check })
}
