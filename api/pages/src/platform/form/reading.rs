//! Reads the fields of a form and collects everything that is wrong with them.

use std::collections::BTreeSet;

use baywright_core::platform::refusal::{FieldFault, Refused, sentence};
use baywright_core::platform::secret::Secret;
use baywright_core::platform::version::Seen;
use baywright_domain::menu::Code;

use super::{Fields, pointer};

/// A form that is being read.
pub struct Reading<'a> {
    fields: &'a Fields,
    faults: Vec<FieldFault>,
}

impl<'a> Reading<'a> {
    /// Begins to read a form.
    pub fn of(fields: &'a Fields) -> Self {
        Self { fields, faults: Vec::new() }
    }

    /// The value of a field that must be filled in; `None`, with a fault, if it can't be read.
    pub fn needed<T>(&mut self, name: &str, parse: impl FnOnce(&str) -> Result<T, String>) -> Option<T> {
        let text = self.fields.text(name);
        if text.trim().is_empty() {
            self.fault(name, "missing", "Fill this in.");
            return None;
        }
        self.read(name, &text, parse)
    }

    /// The value of a field that may be left empty; `None` if it is, and with a fault if it can't be read.
    pub fn optional<T>(&mut self, name: &str, parse: impl FnOnce(&str) -> Result<T, String>) -> Option<T> {
        let text = self.fields.text(name);
        if text.trim().is_empty() {
            return None;
        }
        self.read(name, &text, parse)
    }

    /// A password, to the character as it was typed.
    pub fn secret(&mut self, name: &str) -> Option<Secret> {
        let text = self.fields.exact(name);
        if text.is_empty() {
            self.fault(name, "missing", "Fill this in.");
            return None;
        }
        match Secret::new(text) {
            Ok(secret) => Some(secret),
            Err(why) => {
                self.fault(name, "invalid", &sentence(&why));
                None
            }
        }
    }

    /// The codes that were ticked in a list of boxes.
    pub fn codes(&mut self, name: &str) -> BTreeSet<Code> {
        let mut codes = BTreeSet::new();
        for text in self.fields.all(name) {
            match Code::parse(text) {
                Ok(code) => {
                    codes.insert(code);
                }
                Err(error) => self.faults.push(FieldFault {
                    pointer: pointer(name),
                    code: "bad_code".to_owned(),
                    detail: format!("{error}."),
                }),
            }
        }
        codes
    }

    fn read<T>(&mut self, name: &str, text: &str, parse: impl FnOnce(&str) -> Result<T, String>) -> Option<T> {
        match parse(text) {
            Ok(value) => Some(value),
            Err(why) => {
                self.fault(name, "invalid", &sentence(&why));
                None
            }
        }
    }

    /// The version of the record that the form was filled in for.
    ///
    /// # Errors
    /// 400 if the form does not carry it.
    pub fn version(&self) -> Result<Seen, Refused> {
        let seen = self.fields.text("version").parse().map(Seen);
        seen.map_err(|_| {
            Refused::malformed("Open the page again and send the form from there. This one has no version.")
        })
    }

    /// Adds a fault of a field.
    pub fn fault(&mut self, name: &str, code: &str, detail: &str) {
        self.faults.push(FieldFault { pointer: pointer(name), code: code.to_owned(), detail: detail.to_owned() });
    }

    /// Adds faults that a rule found.
    pub fn add(&mut self, faults: Vec<FieldFault>) {
        self.faults.extend(faults);
    }

    /// Whether nothing was found wrong so far.
    pub fn is_clean(&self) -> bool {
        self.faults.is_empty()
    }

    /// What was read, if nothing is wrong and no part is missing.
    ///
    /// # Errors
    /// 422 with every fault.
    pub fn done<T>(self, read: Option<T>) -> Result<T, Refused> {
        match read {
            Some(value) if self.faults.is_empty() => Ok(value),
            _ => {
                let details: Vec<&str> = self.faults.iter().map(|fault| fault.detail.as_str()).collect();
                Err(Refused::invalid("invalid-value", details.join(" ")).with_faults(self.faults))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_fault_of_a_form_is_told_at_once_at_its_field() {
        let fields = Fields::of_query("name=&owner.email=nobody&note=%20&owner.password=a%20b");
        let mut form = Reading::of(&fields);
        let never = |_: &str| Err::<u8, _>("write it another way".to_owned());
        assert!(form.needed("name", never).is_none() && form.needed("owner.email", never).is_none());
        assert!(form.optional("note", never).is_none());
        assert_eq!(form.secret("owner.password").unwrap().expose(), "a b");
        let refused = form.done(Some(())).unwrap_err();
        let told: Vec<(&str, &str)> =
            refused.errors().iter().map(|f| (f.pointer.as_str(), f.detail.as_str())).collect();
        assert_eq!(told, [("/name", "Fill this in."), ("/owner/email", "Write it another way.")]);
    }
}
