//! Search while typing: the words under which a record is found, and the words that are looked for.
//!
//! Every record is indexed under some words in one normal form, and a search asks for records that have, for each word
//! asked, a word that starts with it. Plates and telephone numbers are also indexed from each later character on, so
//! that any part of them finds them.

use alloc::collections::BTreeSet;
use alloc::string::String;
use alloc::vec::Vec;

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

use crate::customer::{PhoneNumber, dialable, name_key};
use crate::vehicle::searchable_registration;

/// Maximum length of an indexed word, in characters; longer ones are cut.
pub const LONGEST: usize = 64;

/// Maximum number of words that a search uses.
pub const MOST_ASKED: usize = 5;

/// Maximum number of words that one record is kept under.
pub const MOST_KEPT: usize = 200;

/// Version of the rules by which words are made. Raise it when they change: records are then indexed again.
pub const RULES: u32 = 2;

/// Text in its normal form for searching and comparing: letters without accents (Unicode compatibility decomposition,
/// marks dropped), in lower case, and letters that have no decomposition as the Latin letters that people type for them.
pub fn fold(text: &str) -> String {
    let mut folded = String::with_capacity(text.len());
    for c in text.nfkd().filter(|c| !is_combining_mark(*c)).flat_map(char::to_lowercase) {
        match plain(c) {
            Some(letters) => folded.push_str(letters),
            None => folded.push(c),
        }
    }
    folded
}

/// The Latin letters that people type for one that is not on their keyboard (common practice, no source).
const fn plain(letter: char) -> Option<&'static str> {
    Some(match letter {
        'ß' => "ss",
        'ø' => "o",
        'æ' => "ae",
        'œ' => "oe",
        'đ' | 'ð' => "d",
        'þ' => "th",
        'ł' => "l",
        'ħ' => "h",
        'ŧ' => "t",
        'ŋ' => "n",
        'ı' => "i",
        _ => return None,
    })
}

/// The word for an email address as a whole.
pub fn whole(address: &str) -> String {
    cut(&fold(address.trim()))
}

/// The word for a name as a whole. Nobody types its first sign, since a search looks for letters and digits.
pub fn whole_name(name: &str) -> String {
    let mut word = String::from("=");
    word.push_str(&name_key(name));
    cut(&word)
}

fn cut(word: &str) -> String {
    word.chars().take(LONGEST).collect()
}

fn alphanumerics(folded: &str) -> String {
    folded.chars().filter(|c| c.is_alphanumeric()).collect()
}

/// The words of a record, each once.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Words(BTreeSet<String>);

impl Words {
    /// None yet.
    pub fn new() -> Self {
        Self::default()
    }

    fn add(&mut self, word: &str) {
        if !word.is_empty() && self.0.len() < MOST_KEPT {
            self.0.insert(cut(word));
        }
    }

    /// Adds a name, a place or other text: its words, and words with signs inside (`O'Brien`) also in one piece.
    #[must_use]
    pub fn text(mut self, text: &str) -> Self {
        for token in fold(text).split_whitespace() {
            for word in token.split(|c: char| !c.is_alphanumeric()) {
                self.add(word);
            }
            self.add(&alphanumerics(token));
        }
        self
    }

    /// Adds the name of a person or a firm: its words, and the whole name as names are compared.
    #[must_use]
    pub fn name(mut self, name: &str) -> Self {
        self.add(&whole_name(name));
        self.text(name)
    }

    /// Adds an email address: the whole of it, and its words.
    #[must_use]
    pub fn mail(mut self, address: &str) -> Self {
        self.add(&whole(address));
        self.text(address)
    }

    /// Adds a registration or a number of another kind, so that any part of two or more characters finds it.
    #[must_use]
    pub fn plate(mut self, written: &str) -> Self {
        let key = alphanumerics(&fold(&searchable_registration(written)));
        self.add_tails(&key, 2);
        self.text(written)
    }

    /// Adds the number of a document, such as `Q-2026-0007`, so that its start and its last part find it: the middle is
    /// the same for all numbers of a year, and would be in the way of a search for a plate or a telephone number.
    #[must_use]
    pub fn number(mut self, written: &str) -> Self {
        let folded = fold(written);
        self.add(&alphanumerics(&folded));
        if let Some(last) = folded.rsplit(|c: char| !c.is_alphanumeric()).find(|part| !part.is_empty()) {
            self.add(last);
        }
        self
    }

    /// Adds a telephone number, so that any part of three or more digits finds it, in its international form and as it is
    /// dialled at home. A number that could not be parsed is found by the digits that were typed.
    #[must_use]
    pub fn phone(mut self, written: &str, parsed: Option<&PhoneNumber>) -> Self {
        match parsed {
            Some(number) => {
                self.add_tails(number.international.trim_start_matches('+'), 3);
                self.add(&number.national);
            }
            None => self.add_tails(dialable(written).trim_start_matches('+'), 3),
        }
        self
    }

    fn add_tails(&mut self, key: &str, shortest: usize) {
        let length = key.chars().count();
        for (number, (at, _)) in key.char_indices().enumerate() {
            if number == 0 || length - number >= shortest {
                self.add(&key[at..]);
            }
        }
    }

    /// The words in order.
    pub fn iter(&self) -> impl Iterator<Item = &str> {
        self.0.iter().map(String::as_str)
    }
}

/// Search text: a record is found if every one of `words` starts one of its words, or if one of the other texts does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// The words as typed, at most [`MOST_ASKED`].
    pub words: Vec<String>,
    /// All of the typed text in one piece, as plates and telephone numbers are indexed; `None` if it is the same.
    pub joined: Option<String>,
    /// The digits of the telephone number that was typed, with its country's code; `None` if none was.
    pub number: Option<String>,
}

/// Reads the typed text, with the telephone number that it was parsed to, if it is one; `None` if it contains no letter
/// and no digit.
pub fn asked(typed: &str, parsed: Option<&PhoneNumber>) -> Option<Asked> {
    let folded = fold(typed);
    let mut words = Vec::new();
    for token in folded.split_whitespace() {
        if token.contains('@') && token.chars().any(char::is_alphanumeric) {
            words.push(cut(token));
        } else {
            words.extend(token.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(cut));
        }
    }
    words.truncate(MOST_ASKED);
    // A number typed in national form, or with 00 for +, is indexed with its country's code in front.
    let all = alphanumerics(&folded);
    let dialled = all.chars().all(|c| c.is_ascii_digit());
    let joined = cut(if dialled && all.len() > 3 { all.trim_start_matches('0') } else { &all });
    if words.is_empty() {
        return None;
    }
    let joined =
        (!joined.is_empty() && !folded.contains('@') && (words.len() > 1 || words[0] != joined)).then_some(joined);
    let number = parsed.map(|number| String::from(number.international.trim_start_matches('+')));
    let number = number.filter(|digits| words[0] != *digits && joined.as_ref() != Some(digits));
    Some(Asked { words, joined, number })
}

/// The first text that no word starting with `prefix` reaches, if texts are ordered by their code points.
pub fn end_of(prefix: &str) -> String {
    let mut end = String::from(prefix);
    end.push(char::MAX);
    end
}

#[cfg(test)]
mod tests {
    use alloc::vec;

    use super::*;

    fn found(words: &Words, typed: &str) -> bool {
        found_by(words, typed, None)
    }

    fn found_by(words: &Words, typed: &str, parsed: Option<&PhoneNumber>) -> bool {
        let starts = |prefix: &String| words.iter().any(|word| **prefix <= *word && *word < *end_of(prefix));
        asked(typed, parsed)
            .is_some_and(|asked| asked.words.iter().all(starts) || asked.joined.iter().chain(&asked.number).any(starts))
    }

    #[test]
    fn a_name_is_kept_as_a_whole_too_which_no_search_meets() {
        let words = Words::new().name("Byrne, Aoife");
        assert!(words.iter().any(|word| word == whole_name("AOIFE byrne")));
        assert!(found(&words, "aoife byr") && !found(&words, "="));
    }

    #[test]
    fn letters_that_have_no_accent_to_drop_are_found_as_people_type_them() {
        let cases = [
            ("Groß", "gross"),
            ("GROẞ", "gross"),
            ("Søren", "soren"),
            ("Łukasz", "lukasz"),
            ("Æbelø", "aebelo"),
            ("Þór", "thor"),
            ("Đorđe", "dorde"),
            ("Œuvre", "oeuvre"),
            ("Renée", "renee"),
            ("ﬁne", "fine"),
        ];
        for (name, typed) in cases {
            assert!(found(&Words::new().text(name), typed), "{name}");
            assert!(found(&Words::new().text(typed), name), "{typed} by {name}");
        }
    }

    #[test]
    fn a_name_is_found_by_the_start_of_any_word_without_accents() {
        let words = Words::new().text("Siobhán O'Brien-Walsh");
        for typed in ["siob", "SIOBHAN", "Siobhán", "brien", "obrien", "o'br", "wal", "walsh sio", "o'brien-w"] {
            assert!(found(&words, typed), "{typed}");
        }
        for typed in ["iobhan", "walsh x", "", "  ", "-"] {
            assert!(!found(&words, typed), "{typed}");
        }
    }

    // Numbers from a range that the regulator keeps free for fiction (020 910 0000 to 0999, from memory).
    #[test]
    fn a_telephone_number_is_found_however_it_is_typed_and_by_its_last_digits() {
        let number = PhoneNumber { international: "+353209100123".into(), national: "0209100123".into() };
        let words = Words::new().phone("+353 (0)20-910.0123 (mobil)", Some(&number));
        for typed in ["020 910 0123", "0209100", "020", "+353 20", "00353209100123", "0123", "910", "910 01"] {
            assert!(found(&words, typed), "{typed}");
        }
        for typed in ["+353 (0)20/910 0123", "Tel. 020 910 0123 (mobil)"] {
            assert!(found_by(&words, typed, Some(&number)), "{typed}");
        }
        for typed in ["911", "mobil", "0171"] {
            assert!(!found(&words, typed), "{typed}");
        }
        let words = Words::new().phone("0800 12 34 (mobil)", None);
        assert!(found(&words, "0800 1") && found(&words, "1234"), "what can't be parsed is found by its digits");
    }

    #[test]
    fn a_registration_is_found_by_any_part_of_it() {
        let words = Words::new().plate("AB12 CDE");
        for typed in ["ab12cde", "AB 12", "AB-12 C", "cde", "12cd", "b12"] {
            assert!(found(&words, typed), "{typed}");
        }
        assert!(!found(&words, "ab 13"));
    }

    #[test]
    fn a_documents_number_is_found_by_its_start_and_its_last_part() {
        let words = Words::new().number("Q-2026-0007");
        for typed in ["q", "Q2026", "q202600", "q-2026-0007", "Q 2026 0007", "0007"] {
            assert!(found(&words, typed), "{typed}");
        }
        for typed in ["20", "26", "2026", "q-2027"] {
            assert!(!found(&words, typed), "{typed}");
        }
    }

    #[test]
    fn a_mail_address_is_found_by_its_start_its_name_and_its_domain() {
        let words = Words::new().mail("Aoife.Byrne@mail.example");
        for typed in ["aoife.byrne@mail", "byrne", "aoife.b", "mail.example"] {
            assert!(found(&words, typed), "{typed}");
        }
        assert!(!found(&words, "aoife@"));
    }

    #[test]
    fn what_is_kept_and_asked_is_bounded() {
        let long = "ab1 ".repeat(1_000);
        assert!(Words::new().text(&long).plate(&long).iter().count() <= MOST_KEPT);
        assert_eq!(
            asked(&long, None).map(|a| (a.words.len(), a.joined.map(|j| j.len()))),
            Some((MOST_ASKED, Some(LONGEST)))
        );
        assert_eq!(asked("ab", None).map(|a| a.words), Some(vec!["ab".into()]));
    }
}
