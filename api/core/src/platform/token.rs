//! Secrets that the program issues and stores only as digests.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;

use super::fail::{Done, Fail};
use super::ids;
use crate::platform::canonical;

/// Number of letters a token has.
pub const LETTERS: usize = 43;

/// A secret of 256 random bits in 43 letters. It is shown once, when it is made.
#[derive(Clone, PartialEq, Eq)]
pub struct Token(String);

impl std::fmt::Debug for Token {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Token(…)")
    }
}

impl Token {
    /// A new one.
    ///
    /// # Errors
    /// If the system gives no random bits.
    pub fn new() -> Done<Self> {
        let bytes: [u8; 32] = ids::random().map_err(Fail::unexpected)?;
        Ok(Self(URL_SAFE_NO_PAD.encode(bytes)))
    }

    /// The token as it is issued.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The digest under which it is stored.
    pub fn digest(&self) -> String {
        digest(&self.0)
    }
}

/// The digest under which a token from outside would be stored. It needs no salt, because the token itself is random.
pub fn digest(token: &str) -> String {
    canonical::digest(token)
}

/// Whether a text can be a token at all; if not, it is not looked up.
pub fn is_plausible(token: &str) -> bool {
    token.len() == LETTERS && token.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_256_bits_in_43_letters_and_never_printed() {
        let (one, other) = (Token::new().unwrap(), Token::new().unwrap());
        assert!(is_plausible(one.as_str()) && !is_plausible(&format!("{}x", one.as_str())));
        assert_eq!(URL_SAFE_NO_PAD.decode(one.as_str()).unwrap().len(), 32);
        assert_ne!(one, other);
        assert!(!format!("{one:?}").contains(one.as_str()));
    }
}
