//! `canonical`: the canonical text of a JSON value, and its digest.

use baywright_core::platform::canonical::{canonical, digest};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::Answer;

/// Any value.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    value: Value,
}

/// Its one text, and SHA-256 over that in hex.
#[derive(Serialize)]
pub struct Sealed {
    canonical: String,
    sha256: String,
}

/// Writes the value.
pub fn answer(case: Case) -> Answer<Sealed> {
    let canonical = canonical(&case.value).map_err(|refusal| refusal.to_string())?;
    Ok(Sealed { sha256: digest(&canonical), canonical })
}
