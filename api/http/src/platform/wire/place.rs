//! Countries, currencies and languages by their standard codes.

use baywright_domain::country::Country;
use baywright_domain::money::Currency;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{described, string};

/// A country: two letters of ISO 3166-1, upper case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CountryCode(pub Country);

/// A currency: three letters of ISO 4217, one of those that a shop can use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CurrencyCode(pub Currency);

/// A language for mails and documents: ISO 639 letters, with a country if it matters, such as `en` or `en-IE` (the
/// plainest form of RFC 5646).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Language(String);

impl CountryCode {
    /// Reads the code.
    ///
    /// # Errors
    /// A sentence that says what it must look like.
    pub fn parse(text: &str) -> Result<Self, String> {
        Country::parse(text).map(Self).map_err(|error| error.to_string())
    }
}

impl Serialize for CountryCode {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        writer.collect_str(&self.0)
    }
}

impl<'de> Deserialize<'de> for CountryCode {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(reader)?).map_err(serde::de::Error::custom)
    }
}

impl CurrencyCode {
    /// Reads the code.
    ///
    /// # Errors
    /// A sentence that says what it must look like.
    pub fn parse(text: &str) -> Result<Self, String> {
        Currency::of(text).map(Self).ok_or_else(|| {
            let known: Vec<&str> = Currency::all().map(Currency::code).collect();
            format!("write one of {}", known.join(", "))
        })
    }
}

impl Serialize for CurrencyCode {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        writer.serialize_str(self.0.code())
    }
}

impl<'de> Deserialize<'de> for CurrencyCode {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(reader)?).map_err(serde::de::Error::custom)
    }
}

impl Language {
    /// Reads the tag.
    ///
    /// # Errors
    /// A sentence that says what it must look like.
    pub fn parse(text: &str) -> Result<Self, String> {
        let (language, country) = text.split_once('-').map_or((text, None), |(l, c)| (l, Some(c)));
        let lower = (2..=3).contains(&language.len()) && language.bytes().all(|b| b.is_ascii_lowercase());
        let upper = country.is_none_or(|c| c.len() == 2 && c.bytes().all(|b| b.is_ascii_uppercase()));
        if lower && upper {
            Ok(Self(text.to_owned()))
        } else {
            Err("write the language as its code, such as en or en-IE".to_owned())
        }
    }

    /// The tag.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl Default for Language {
    fn default() -> Self {
        Self("en".to_owned())
    }
}

impl<'de> Deserialize<'de> for Language {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(reader)?).map_err(serde::de::Error::custom)
    }
}

impl From<Language> for String {
    fn from(language: Language) -> Self {
        language.0
    }
}

/// Only the codes that are assigned, so that a generated client knows them.
fn codes() -> Vec<String> {
    Country::all().map(|country| country.to_string()).collect()
}

described!([] CurrencyCode, "CurrencyCode", string()
    .enum_values(Some(Currency::all().map(Currency::code))).examples(["EUR"]).build());
described!([] CountryCode, "CountryCode", string().enum_values(Some(codes())).examples(["IE"]).build());
described!([] Language, "Language", string().min_length(Some(2)).max_length(Some(6))
    .pattern(Some("^[a-z]{2,3}(-[A-Z]{2})?$")).examples(["en"]).build());
