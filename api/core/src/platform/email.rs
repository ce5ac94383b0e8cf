//! Email addresses.

/// An email address (RFC 5321, without quoted parts and address literals).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Email(String);

impl Email {
    /// Reads the address.
    ///
    /// # Errors
    /// A sentence that says what it must look like.
    pub fn parse(text: &str) -> Result<Self, String> {
        let fine = text.len() <= 254
            && text.split_once('@').is_some_and(|(local, domain)| {
                local.len() <= 64
                    && local.split('.').all(is_atom)
                    && domain.contains('.')
                    && domain.split('.').all(is_label)
            });
        if fine { Ok(Self(text.to_owned())) } else { Err("write an email address such as name@example.com".to_owned()) }
    }

    /// The address.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The address, owned.
    pub fn into_string(self) -> String {
        self.0
    }
}

/// Whether a text is a part of a local part: what stands between two dots.
fn is_atom(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| c.is_ascii_alphanumeric() || "!#$%&'*+/=?^_{|}~-".contains(c))
}

/// Whether a text is a label of a domain.
fn is_label(text: &str) -> bool {
    (1..=63).contains(&text.len())
        && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
        && !text.starts_with('-')
        && !text.ends_with('-')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mail_address_holds_no_line_break_and_has_a_domain() {
        for fine in ["a@example.com", "a.b+c@mail.example.com"] {
            assert!(Email::parse(fine).is_ok(), "{fine}");
        }
        for bad in ["a@b", "a@example.com\r\nBcc: x@example.com", ".a@example.com", "a@-x.com", "a b@example.com", "@"]
        {
            assert!(Email::parse(bad).is_err(), "{bad:?}");
        }
    }
}
