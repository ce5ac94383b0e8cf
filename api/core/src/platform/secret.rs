//! Passwords and tokens as they were entered.

use secrecy::{ExposeSecret, SecretString};

/// Maximum number of characters of a secret.
pub const MOST: usize = 256;

/// A password or a token, exactly as it was entered: not trimmed, and never logged.
#[derive(Debug, Clone)]
pub struct Secret(SecretString);

impl Secret {
    /// Takes the text from a request or a terminal.
    ///
    /// # Errors
    /// A sentence that describes the valid form; it never repeats the secret.
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
