//! Whether two notes of a customer are of one: a list that is taken in twice must add nobody twice.

use alloc::string::String;
use alloc::vec::Vec;

use crate::search::fold;

/// What tells one customer from another.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Traits {
    /// The shop's own number for them.
    pub reference: Option<String>,
    /// The name.
    pub name: String,
    /// Mail addresses.
    pub emails: Vec<String>,
    /// Telephone numbers as written.
    pub phones: Vec<String>,
}

/// A name in the form in which names are compared: without accents, capitals and doubled spaces.
pub fn name_key(name: &str) -> String {
    fold(name).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The number as digits; the zeros before it, which are dialled at home only, make no difference.
fn dialled(phone: &str) -> String {
    let digits: String = phone.chars().filter(char::is_ascii_digit).collect();
    String::from(digits.trim_start_matches('0'))
}

/// One thing by which a customer is looked up, in the form in which it is compared.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Key {
    /// The shop's own number.
    Reference(String),
    /// The name.
    Name(String),
    /// A mail address.
    Mail(String),
    /// A telephone number's digits.
    Phone(String),
}

impl Traits {
    /// Everything by which the customer is looked up. All that someone says of a customer is true of one who has all
    /// the keys of what was said.
    pub fn keys(&self) -> Vec<Key> {
        let mut keys: Vec<Key> = self.reference.iter().cloned().map(Key::Reference).collect();
        if !self.name.is_empty() {
            keys.push(Key::Name(name_key(&self.name)));
        }
        keys.extend(self.emails.iter().map(|mail| Key::Mail(fold(mail))));
        keys.extend(self.phones.iter().map(|phone| Key::Phone(dialled(phone))));
        keys
    }

    /// Whether both are of one customer. Where both have a number of the shop's, that decides; else the name and a mail
    /// address or telephone number in common do, and the name alone where one of them can't be reached at all.
    pub fn same(&self, other: &Self) -> bool {
        if let (Some(mine), Some(theirs)) = (&self.reference, &other.reference) {
            return mine == theirs;
        }
        name_key(&self.name) == name_key(&other.name)
            && (self.has_no_reach() || other.has_no_reach() || self.shares_reach(other))
    }

    fn has_no_reach(&self) -> bool {
        self.emails.is_empty() && self.phones.is_empty()
    }

    fn shares_reach(&self, other: &Self) -> bool {
        let shared = |mine: &[String], theirs: &[String], key: fn(&str) -> String| {
            mine.iter().any(|one| theirs.iter().any(|two| key(one) == key(two)))
        };
        shared(&self.emails, &other.emails, fold) || shared(&self.phones, &other.phones, dialled)
    }
}

#[cfg(test)]
mod tests {
    use alloc::vec;

    use super::*;

    fn traits(reference: Option<&str>, name: &str, email: &str, phone: &str) -> Traits {
        let list = |text: &str| if text.is_empty() { vec![] } else { vec![String::from(text)] };
        Traits { reference: reference.map(String::from), name: name.into(), emails: list(email), phones: list(phone) }
    }

    fn same(one: &Traits, two: &Traits) -> bool {
        assert_eq!(one.same(two), two.same(one));
        one.same(two)
    }

    #[test]
    fn the_shops_own_number_decides_where_both_have_one() {
        let one = traits(Some("C-1"), "Aoife Byrne", "aoife@example.com", "");
        assert!(same(&one, &traits(Some("C-1"), "A. Byrne", "", "")));
        assert!(!same(&one, &traits(Some("C-2"), "Aoife Byrne", "aoife@example.com", "")));
        assert!(same(&one, &traits(None, "Aoife Byrne", "aoife@example.com", "")));
    }

    #[test]
    fn else_the_name_and_a_way_to_reach_them_do() {
        let one = traits(None, "Siobhán  O'Brien", "S.OBrien@example.com", "+353 20 910 0123");
        let said = traits(None, "SIOBHAN O'BRIEN", "", "353-20-9100123");
        assert!(said.keys().iter().all(|key| one.keys().contains(key)));
        assert!(same(&one, &traits(None, "siobhan o'brien", "s.obrien@EXAMPLE.com", "")));
        assert!(same(&one, &traits(None, "Siobhan O'Brien", "", "00353 (20) 9100123")));
        assert!(same(&one, &traits(None, "Siobhan O'Brien", "", "")));
        assert!(!same(&one, &traits(None, "Siobhan O'Brien", "other@example.com", "")));
        // Two people of one household share an address.
        assert!(!same(&one, &traits(None, "Brendan O'Brien", "s.obrien@example.com", "")));
    }
}
