//! Canonical JSON (RFC 8785) and the digest over it.
//!
//! RFC 8785 knows only doubles, so an integer beyond 2^53 would silently become another one. It is refused here:
//! money, ids and large integers go into canonical JSON as strings.
//!
//! `serde_json` runs with `arbitrary_precision`, so a number can arrive here that no double represents; it is refused
//! as well.

use serde_json::Value;
use sha2::{Digest, Sha256};

/// Reason why a value has no canonical form here.
#[derive(Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotCanonical {
    /// An integer that a double can't hold.
    #[error("no canonical JSON: the integer {number} at {pointer:?} is beyond 2^53; write it as a string")]
    Integer {
        /// JSON pointer to the number.
        pointer: String,
        /// The number as it was written.
        number: String,
    },
    /// A number that is not a finite double.
    #[error("no canonical JSON: the number {number} at {pointer:?} is no finite double; write it as a string")]
    Number {
        /// JSON pointer to the number.
        pointer: String,
        /// The number as it was written.
        number: String,
    },
    /// The writer failed.
    #[error("no canonical JSON: {0}")]
    Writer(String),
}

/// The largest integer whose neighbours are doubles too.
const MOST: u64 = 1 << 53;

/// The canonical text of a value.
///
/// # Errors
/// [`NotCanonical`] if a number is an integer beyond 2^53 or no finite double, with its place.
pub fn canonical(value: &Value) -> Result<String, NotCanonical> {
    check(value, &mut String::new())?;
    serde_json_canonicalizer::to_string(value).map_err(|error| NotCanonical::Writer(error.to_string()))
}

fn check(value: &Value, pointer: &mut String) -> Result<(), NotCanonical> {
    let length = pointer.len();
    match value {
        Value::Number(number) => {
            // Numbers keep the digits with which they were written, so the text tells an integer from a double.
            let number = number.to_string();
            let digits = number.strip_prefix('-').unwrap_or(&number);
            if digits.bytes().all(|byte| byte.is_ascii_digit()) {
                if !digits.parse::<u64>().is_ok_and(|size| size <= MOST) {
                    return Err(NotCanonical::Integer { pointer: pointer.clone(), number });
                }
            } else if !number.parse::<f64>().is_ok_and(f64::is_finite) {
                return Err(NotCanonical::Number { pointer: pointer.clone(), number });
            }
        }
        Value::Array(items) => {
            for (at, item) in items.iter().enumerate() {
                pointer.push('/');
                pointer.push_str(&at.to_string());
                check(item, pointer)?;
                pointer.truncate(length);
            }
        }
        Value::Object(fields) => {
            for (name, field) in fields {
                pointer.push('/');
                pointer.push_str(&name.replace('~', "~0").replace('/', "~1"));
                check(field, pointer)?;
                pointer.truncate(length);
            }
        }
        Value::Null | Value::Bool(_) | Value::String(_) => {}
    }
    Ok(())
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
