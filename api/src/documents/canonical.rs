//! Canonical JSON (RFC 8785) and the digest over it.

use serde_json::Value;
use sha2::{Digest, Sha256};

/// Why a value has no canonical form here.
#[derive(Debug, thiserror::Error)]
#[error("no canonical JSON: {0}")]
pub struct NotCanonical(String);

/// The canonical text of a value.
///
/// # Errors
/// Where a number is no finite double.
pub fn canonical(value: &Value) -> Result<String, NotCanonical> {
    serde_json_canonicalizer::to_string(value).map_err(|error| NotCanonical(error.to_string()))
}

/// SHA-256 over the text, in lower-case hex.
pub fn digest(text: &str) -> String {
    hex(&Sha256::digest(text.as_bytes()))
}

/// Bytes in lower-case hex.
pub fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
        // Writing to a String does not fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}
