//! Whether two records are of one customer: importing a list twice must add nobody twice, and a known caller should be
//! recognised.
//!
//! One rule says which records are similar: customers with a telephone number, an email address or the name in common,
//! vehicles with a VIN or a registration in common. Every new record goes through `customer::usecase::add` or
//! `vehicle::usecase::add` of the program. They ask the person to confirm `known-customer` or `known-vehicle`, and
//! `known` in the problem names the records. Candidates are found by the search words and judged by
//! [`Traits::likeness`]. Two different numbers of the shop's own for customers mean two customers.

use alloc::string::String;
use alloc::vec::Vec;

use crate::search::fold;
use crate::word::words;

/// Details that distinguish one customer from another.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Traits {
    /// The shop's own number for them.
    pub reference: Option<String>,
    /// The name.
    pub name: String,
    /// Email addresses.
    pub emails: Vec<String>,
    /// Telephone numbers in the form of [`phone_key`](super::phone_key).
    pub phones: Vec<String>,
}

words! {
    /// Properties that a new customer has in common with a known one.
    pub enum Likeness("likeness") {
        /// A telephone number.
        Phone = "PHONE" "telephone number",
        /// An email address.
        Mail = "MAIL" "email address",
        /// The name.
        Name = "NAME" "name",
    }
}

/// A name in the form in which names are compared: its words without accents, capitals and signs, in alphabetical
/// order, so that `Byrne, Aoife` is `Aoife Byrne`.
pub fn name_key(name: &str) -> String {
    let folded = fold(name);
    let plain = |word: &str| word.chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    let mut words: Vec<String> = folded.split_whitespace().map(plain).filter(|word| !word.is_empty()).collect();
    words.sort_unstable();
    // A name that consists only of signs is compared unchanged.
    if words.is_empty() { folded } else { words.join(" ") }
}

/// One key by which a customer is looked up, in the form in which it is compared.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Key {
    /// The shop's own number.
    Reference(String),
    /// The name.
    Name(String),
    /// An email address.
    Mail(String),
    /// A telephone number's digits.
    Phone(String),
}

impl Traits {
    /// All keys by which the customer is looked up. A description fits a customer who has all keys of the description.
    pub fn keys(&self) -> Vec<Key> {
        let mut keys: Vec<Key> = self.reference.iter().cloned().map(Key::Reference).collect();
        if !self.name.is_empty() {
            keys.push(Key::Name(name_key(&self.name)));
        }
        keys.extend(self.emails.iter().map(|mail| Key::Mail(fold(mail))));
        keys.extend(self.phones.iter().map(|phone| Key::Phone(phone.clone())));
        keys
    }

    /// Whether both belong to the same customer. If both have a number of the shop's own, that decides. Else they are
    /// the same if they have the name and an email address or telephone number in common, or only the name if one of
    /// the two has neither.
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
        self.shares_phone(other) || self.shares_mail(other)
    }

    fn shares_phone(&self, other: &Self) -> bool {
        self.phones.iter().any(|one| other.phones.contains(one))
    }

    fn shares_mail(&self, other: &Self) -> bool {
        self.emails.iter().any(|one| other.emails.iter().any(|two| fold(one) == fold(two)))
    }

    fn shares_name(&self, other: &Self) -> bool {
        !self.name.is_empty() && name_key(&self.name) == name_key(&other.name)
    }

    /// Whether both have a telephone number, an email address or the name in common, whatever the shop's own numbers
    /// say.
    pub fn has_in_common(&self, other: &Self) -> bool {
        self.shares_reach(other) || self.shares_name(other)
    }

    /// Properties that both have in common, most telling first; empty if nothing suggests that they are the same
    /// customer. It is only a reason to check: two people of one household share a telephone, and two customers may
    /// have the same name. Two different numbers of the shop's own mean two customers, because somebody distinguished
    /// them.
    pub fn likeness(&self, other: &Self) -> Vec<Likeness> {
        if self.reference.is_some() && other.reference.is_some() && self.reference != other.reference {
            return Vec::new();
        }
        let said = [
            (self.shares_phone(other), Likeness::Phone),
            (self.shares_mail(other), Likeness::Mail),
            (self.shares_name(other), Likeness::Name),
        ];
        said.into_iter().filter(|(shared, _)| *shared).map(|(_, likeness)| likeness).collect()
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

    #[test]
    fn two_records_have_a_way_to_reach_them_or_the_name_in_common_or_nothing() {
        let one = traits(Some("C-1"), "Aoife Byrne", "a@x.example", "+353201");
        assert!(one.has_in_common(&traits(Some("C-2"), "byrne, aoife", "", "")));
        assert!(one.has_in_common(&traits(None, "Niamh", "A@x.example", "")));
        assert!(one.has_in_common(&traits(None, "Niamh", "", "+353201")));
        assert!(!one.has_in_common(&traits(None, "Niamh", "b@x.example", "+353202")));
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
        let one = traits(None, "Siobhán  O'Brien", "S.OBrien@example.com", "+353209100123");
        let said = traits(None, "SIOBHAN O'BRIEN", "", "+353209100123");
        assert!(said.keys().iter().all(|key| one.keys().contains(key)));
        assert!(same(&one, &traits(None, "siobhan o'brien", "s.obrien@EXAMPLE.com", "")));
        assert!(same(&one, &traits(None, "Siobhan O'Brien", "", "+353209100123")));
        assert!(same(&one, &traits(None, "Siobhan O'Brien", "", "")));
        assert!(!same(&one, &traits(None, "Siobhan O'Brien", "other@example.com", "")));
        // Two people of one household share an address.
        assert!(!same(&one, &traits(None, "Brendan O'Brien", "s.obrien@example.com", "")));
    }

    #[test]
    fn a_number_an_address_or_a_name_in_common_asks_for_a_second_look() {
        let known = traits(None, "Jürgen Groß", "j.gross@example.com", "+4917155");
        let like = |name, email, phone| traits(None, name, email, phone).likeness(&known);
        assert_eq!(like("Somebody", "", "+4917155"), [Likeness::Phone]);
        assert_eq!(like("Somebody", "J.Gross@EXAMPLE.com", ""), [Likeness::Mail]);
        assert_eq!(like("GROSS, Jurgen", "", ""), [Likeness::Name]);
        assert_eq!(like("Jürgen Gross", "j.gross@example.com", "+4917155").len(), 3);
        assert!(like("Jürgen Grosser", "jg@example.com", "+4917156").is_empty());
        assert!(
            traits(None, "", "", "").likeness(&traits(None, "", "", "")).is_empty(),
            "nothing is nothing in common"
        );
        let numbered = |number| traits(Some(number), "Jürgen Groß", "", "");
        assert!(numbered("C-1").likeness(&numbered("C-2")).is_empty(), "the shop told them apart");
        assert_eq!(numbered("C-1").likeness(&known), [Likeness::Name]);
        assert_eq!(name_key("— ·"), name_key("— ·"));
        assert_ne!(name_key("—"), name_key("·"));
    }
}
