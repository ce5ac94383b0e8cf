//! Text from outside: trimmed, bounded, without control characters and without characters that change the reading
//! direction.

use baywright_core::platform::email;
use baywright_domain::customer::{FEWEST_DIGITS, MOST_DIGITS, is_phone};
use baywright_domain::legible::{is_bidi_control, is_seen, misleads};
use baywright_domain::series::Prefix;
use serde::{Deserialize, Deserializer, Serialize};

use super::{described, string};

/// One line of at most `MAX` characters, of which at least one is visible.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(transparent)]
pub struct Line<const MAX: usize>(String);

/// Text of at most `MAX` characters, with line breaks; may be empty.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
#[serde(transparent)]
pub struct Text<const MAX: usize>(String);

/// An email address (RFC 5321, without quoted parts and address literals).
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Email(String);

/// The longest telephone number with its remarks, in characters.
const LONGEST_PHONE: usize = 60;

/// A telephone number as people write it, with remarks such as `(mobile)` or an extension.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Phone(String);

/// A short code: lower-case letters, digits and single hyphens, such as `two-step-correction`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Code(String);

/// Prefix of a series of document numbers: capital letters and digits, such as `INV`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct SeriesPrefix(String);

/// An id of another record: a UUID as an answer contained it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Reference(String);

macro_rules! text_type {
    ([$($generics:tt)*] $type:ty, $make:expr) => {
        impl<$($generics)*> $type {
            /// The text.
            pub fn as_str(&self) -> &str {
                &self.0
            }

            /// The text, owned.
            pub fn into_string(self) -> String {
                self.0
            }

            /// Reads the text.
            ///
            /// # Errors
            /// A sentence that says what it must look like.
            pub fn parse(text: &str) -> Result<Self, String> {
                let make: fn(&str) -> Result<String, String> = $make;
                make(text).map(Self)
            }
        }

        impl<'de, $($generics)*> Deserialize<'de> for $type {
            fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
                let text = String::deserialize(reader)?;
                Self::parse(&text).map_err(serde::de::Error::custom)
            }
        }

        impl<$($generics)*> std::fmt::Display for $type {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl<$($generics)*> From<$type> for String {
            fn from(text: $type) -> Self {
                text.0
            }
        }
    };
}

text_type!([const MAX: usize] Line<MAX>, |text| {
    let line = text.trim();
    if line.chars().any(misleads) {
        Err("use one line, without control characters and without marks that turn the order of reading".to_owned())
    } else if !is_seen(line) {
        Err("write at least one character that can be seen".to_owned())
    } else if text.chars().count() > MAX {
        Err(format!("use at most {MAX} characters"))
    } else {
        Ok(line.to_owned())
    }
});

text_type!([const MAX: usize] Text<MAX>, |text| {
    if text.chars().any(|c| is_bidi_control(c) || (c.is_control() && c != '\n' && c != '\r' && c != '\t')) {
        Err("leave out control characters and marks that turn the order of reading".to_owned())
    } else if text.chars().count() > MAX {
        Err(format!("use at most {MAX} characters"))
    } else {
        // Invisible text counts as empty, as blanks do.
        Ok(Some(text.trim()).filter(|text| is_seen(text)).unwrap_or_default().to_owned())
    }
});

text_type!([] Email, |text| email::Email::parse(text).map(email::Email::into_string));

text_type!([] Phone, |text| {
    let phone = text.trim();
    if phone.chars().any(misleads) {
        Err("use one line, without control characters and without marks that turn the order of reading".to_owned())
    } else if phone.chars().count() > LONGEST_PHONE {
        Err(format!("use at most {LONGEST_PHONE} characters"))
    } else if is_phone(phone) {
        // What was typed is kept, remarks and extension included; `platform::phone` parses it.
        Ok(phone.to_owned())
    } else {
        Err(format!("write the number with {FEWEST_DIGITS} to {MOST_DIGITS} digits, such as +353 20 910 0000"))
    }
});

text_type!([] Code, |text| {
    let part = |p: &str| !p.is_empty() && p.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit());
    if text.len() <= 40 && text.split('-').all(part) {
        Ok(text.to_owned())
    } else {
        Err("use lower-case letters, digits and single hyphens, at most 40, such as two-step-correction".to_owned())
    }
});

text_type!([] SeriesPrefix, |text| {
    Prefix::parse(text).map(|prefix| prefix.as_str().to_owned()).map_err(|error| error.to_string())
});

text_type!([] Reference, |text| {
    match uuid::Uuid::try_parse(text) {
        Ok(id) if text.len() == 36 => Ok(id.to_string()),
        _ => Err("write the id as it was answered, such as 0198c0de-0000-7000-8000-000000000001".to_owned()),
    }
});

impl From<&Prefix> for SeriesPrefix {
    fn from(prefix: &Prefix) -> Self {
        Self(prefix.as_str().to_owned())
    }
}

/// Ids of the rules go out as they are.
impl<T: AsRef<str>> From<&T> for Reference {
    fn from(id: &T) -> Self {
        Self(id.as_ref().to_owned())
    }
}

/// Visible text without misleading characters: `baywright_domain::legible` within the basic plane, since not every
/// regex engine knows characters beyond it.
const LINE: &str = concat!(
    r"^[^\u0000-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]*",
    r"[^\u0000-\u0020\u007f-\u00a0\u00ad\u034f\u0600-\u0605\u061c\u06dd\u070f\u0890\u0891\u08e2\u115f\u1160\u1680\u17b4\u17b5\u180b-\u180f\u2000-\u200f\u2028-\u202f\u205f-\u206f\u2800\u3000\u3164\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufffb]",
    r"[^\u0000-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]*$"
);
const TEXT: &str =
    r"^[^\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f-\u009f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]*$";
const EMAIL: &str = r"^[A-Za-z0-9!#$%&'*+/=?^_{|}~-]{1,30}(\.[A-Za-z0-9!#$%&'*+/=?^_{|}~-]{1,30})?@([A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?\.)+[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?$";
/// Digits with up to three separators between them, then optionally a remark or an extension that starts with a letter.
/// The parser accepts more, such as a word before the number; whatever this pattern allows is accepted.
const PHONE: &str = r"^[+(]{0,2}[0-9]([ ()./\u00a0-]{0,3}[0-9]){2,19}( \(?[A-Za-z][A-Za-z0-9 .)]{0,15})?$";
const CODE: &str = "^[a-z0-9]+(-[a-z0-9]+)*$";

described!([const MAX: usize] Line<MAX>, format!("Line{MAX}"),
    string().min_length(Some(1)).max_length(Some(MAX)).pattern(Some(LINE)).build());
described!([const MAX: usize] Text<MAX>, format!("Text{MAX}"),
    string().max_length(Some(MAX)).pattern(Some(TEXT)).build());
described!([] Email, "Email", string().max_length(Some(254)).pattern(Some(EMAIL))
    .examples(["aoife@example.com"]).build());
described!([] Phone, "Phone", string().min_length(Some(3)).max_length(Some(LONGEST_PHONE)).pattern(Some(PHONE))
    .examples(["+353 20 910 0000"]).build());
described!([] Code, "Code", string().min_length(Some(1)).max_length(Some(40)).pattern(Some(CODE))
    .examples(["two-step-correction"]).build());
described!([] SeriesPrefix, "SeriesPrefix", string().min_length(Some(1)).max_length(Some(8))
    .pattern(Some("^[A-Z0-9]{1,8}$")).examples(["INV"]).build());
described!([] Reference, "Reference", string().min_length(Some(36)).max_length(Some(36))
    .pattern(Some("^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"))
    .examples(["0198c0de-0000-7000-8000-000000000001"]).build());

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_trimmed_bounded_and_free_of_control_characters() {
        assert_eq!(Line::<5>::parse(" ab ").map(String::from), Ok("ab".to_owned()));
        assert!(Line::<5>::parse("abcdef").is_err());
        assert!(Line::<5>::parse("  ").is_err());
        assert!(Line::<5>::parse("a\u{0}b").is_err());
        assert!(Text::<9>::parse("a\nb").is_ok());
        assert!(Text::<9>::parse("a\u{0}b").is_err());
    }
}
