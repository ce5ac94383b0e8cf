//! Passwords and tokens as they are sent in.

use secrecy::{ExposeSecret, SecretString};
use serde::{Deserialize, Deserializer};

use super::{described, string};

/// The most characters of a secret.
const MOST: usize = 256;

/// A password or a token, to the character as it was sent: not trimmed, and shown by no log line.
#[derive(Debug, Clone)]
pub struct Secret(SecretString);

impl Secret {
    /// A secret that came in otherwise than in a body, from a terminal say.
    ///
    /// # Errors
    /// A sentence that says what it must look like; it never repeats the secret.
    pub fn new(text: String) -> Result<Self, String> {
        if text.is_empty() || text.chars().count() > MOST {
            return Err(format!("write 1 to {MOST} characters"));
        }
        Ok(Self(SecretString::from(text)))
    }

    /// The secret itself.
    pub fn expose(&self) -> &str {
        self.0.expose_secret()
    }
}

impl<'de> Deserialize<'de> for Secret {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        Self::new(String::deserialize(reader)?).map_err(serde::de::Error::custom)
    }
}

described!([] Secret, "Secret", string().min_length(Some(1)).max_length(Some(MOST))
    .examples(["thirteen quiet buckets"]).build());
