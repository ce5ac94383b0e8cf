//! Contact details of a studio.

/// Contact details of a studio.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reach {
    /// The studio's name.
    pub name: String,
    /// Its telephone number as people read it; empty if it has none.
    pub phone: String,
    /// Its email address; empty if it has none.
    pub email: String,
}

impl Reach {
    /// Address of a link that calls the studio (RFC 3966): digits with their leading plus. The zero in brackets that is
    /// dialled only within a country is left out.
    pub fn tel(&self) -> String {
        let number =
            if self.phone.trim_start().starts_with('+') { self.phone.replace("(0)", "") } else { self.phone.clone() };
        let dialled: String = number.chars().filter(|c| c.is_ascii_digit() || *c == '+').collect();
        format!("tel:{dialled}")
    }

    /// Address of a link that writes to the studio (RFC 6068).
    pub fn mailto(&self) -> String {
        let address: String =
            self.email.chars().map(|c| if c == '%' { "%25".to_owned() } else { c.to_string() }).collect();
        format!("mailto:{address}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_is_dialled_without_what_is_only_read() {
        let tel = |phone: &str| Reach { name: String::new(), phone: phone.into(), email: String::new() }.tel();
        assert_eq!(tel("+353 20 910 0400"), "tel:+353209100400");
        assert_eq!(tel("+49 (0)171-555.0213"), "tel:+491715550213");
        assert_eq!(tel("020 910 0400"), "tel:0209100400");
    }
}
