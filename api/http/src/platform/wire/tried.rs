//! Fields whose faults are reported together: a wrong field doesn't end the reading of the body.

use baywright_core::platform::refusal::FieldFault;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer};

/// A field that was read, or the reason why it could not be. It is for forms that a person fills in by hand once, such
/// as the first setup, to report every fault at once. Mark it `#[serde(default)]`, so that a missing field is a fault
/// like any other.
#[derive(Debug, Clone)]
pub struct Tried<T>(Option<Result<T, String>>);

impl<T> Default for Tried<T> {
    fn default() -> Self {
        Self(None)
    }
}

impl<'de, T: DeserializeOwned> Deserialize<'de> for Tried<T> {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        let value = serde_json::Value::deserialize(reader)?;
        Ok(Self(Some(serde_json::from_value(value).map_err(|error| error.to_string()))))
    }
}

impl<T> Tried<T> {
    /// The value; if there is none, a fault at `pointer` is added.
    pub fn take(self, pointer: &str, faults: &mut Vec<FieldFault>) -> Option<T> {
        let (code, detail) = match self.0 {
            Some(Ok(value)) => return Some(value),
            Some(Err(why)) => ("invalid", format!("{}.", why.trim_end_matches('.'))),
            None => ("missing", "Fill this in.".to_owned()),
        };
        faults.push(FieldFault { pointer: pointer.to_owned(), code: code.to_owned(), detail });
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::platform::wire::{Email, Line};

    #[derive(Deserialize)]
    struct Form {
        #[serde(default)]
        name: Tried<Line<10>>,
        #[serde(default)]
        email: Tried<Email>,
        #[serde(default)]
        town: Tried<Line<10>>,
    }

    #[test]
    fn every_fault_of_a_form_is_found_in_one_reading() {
        let form: Form = serde_json::from_str(r#"{ "name": "Orla", "email": "nobody" }"#).unwrap();
        let mut faults = Vec::new();
        assert_eq!(form.name.take("/name", &mut faults).unwrap().as_str(), "Orla");
        assert!(form.email.take("/email", &mut faults).is_none() && form.town.take("/town", &mut faults).is_none());
        let found: Vec<(&str, &str)> = faults.iter().map(|one| (one.pointer.as_str(), one.code.as_str())).collect();
        assert_eq!(found, [("/email", "invalid"), ("/town", "missing")]);
    }
}
