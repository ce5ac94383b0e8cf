//! Words of a fixed list: the states and kinds of the domain.

use baywright_core::platform::kept::{self, Named};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use utoipa::PartialSchema;
use utoipa::openapi::RefOr;
use utoipa::openapi::schema::{Array, ArrayBuilder, Schema};

use super::{described, string};

/// A value of a fixed list, written as its word.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Word<T>(pub T);

impl<T: Named> Word<T> {
    /// Reads the word.
    ///
    /// # Errors
    /// A sentence that lists the words.
    pub fn parse(text: &str) -> Result<Self, String> {
        T::of_word(text).map(Self).ok_or_else(|| {
            let words: Vec<&str> = T::all().iter().map(|value| value.word()).collect();
            format!("write one of {}", words.join(", "))
        })
    }
}

impl<T> From<Word<T>> for kept::Word<T> {
    fn from(Word(value): Word<T>) -> Self {
        Self(value)
    }
}

impl<T> From<kept::Word<T>> for Word<T> {
    fn from(kept::Word(value): kept::Word<T>) -> Self {
        Self(value)
    }
}

impl<T: Named> Serialize for Word<T> {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        writer.serialize_str(self.0.word())
    }
}

impl<'de, T: Named> Deserialize<'de> for Word<T> {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(reader)?).map_err(serde::de::Error::custom)
    }
}

described!([T: Named] Word<T>, T::NAME,
    string().enum_values(Some(T::all().iter().map(|value| value.word()))).build());

/// Words of a query string, separated by commas: a list returns records with any of them. Empty if left out, which
/// selects all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words<T>(pub Vec<T>);

impl<T> Default for Words<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<'de, T: Named> Deserialize<'de> for Words<T> {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        let mut words: Vec<T> = Vec::new();
        for text in String::deserialize(reader)?.split(',') {
            let Word(value) = Word::<T>::parse(text).map_err(serde::de::Error::custom)?;
            if words.iter().any(|known| known.word() == text) {
                return Err(serde::de::Error::custom(format_args!("{text} is given twice")));
            }
            words.push(value);
        }
        Ok(Self(words))
    }
}

impl<T: Named> PartialSchema for Words<T> {
    fn schema() -> RefOr<Schema> {
        let words = ArrayBuilder::new().items(Word::<T>::schema()).unique_items(true);
        let array: Array = words.min_items(Some(1)).max_items(Some(T::all().len())).build();
        RefOr::T(Schema::Array(array))
    }
}
