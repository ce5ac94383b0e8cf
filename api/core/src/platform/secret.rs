//! Passwords and tokens as somebody gives them.

use secrecy::{ExposeSecret, SecretString};

/// The most characters of a secret.
pub const MOST: usize = 256;

/// A password or a token, to the character as it was given: not trimmed, and shown by no log line.
#[derive(Debug, Clone)]
pub struct Secret(SecretString);

impl Secret {
    /// Takes the text, whether it came in a request or from a terminal.
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
