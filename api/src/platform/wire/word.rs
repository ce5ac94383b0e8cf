//! Words out of a fixed list: the states and kinds of the domain.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{described, string};

/// An enum of the domain that travels as one of its words.
pub trait WireWord: Copy + Send + Sync + 'static {
    /// The schema's name.
    const NAME: &'static str;

    /// Every value, in the trade's order.
    fn all() -> &'static [Self];

    /// The word of a value, in `UPPER_SNAKE`.
    fn word(self) -> &'static str;
}

/// A value of a fixed list, written as its word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Word<T>(pub T);

impl<T: WireWord> Word<T> {
    /// Reads the word.
    ///
    /// # Errors
    /// A sentence that lists the words.
    pub fn parse(text: &str) -> Result<Self, String> {
        T::all().iter().copied().find(|value| value.word() == text).map(Self).ok_or_else(|| {
            let words: Vec<&str> = T::all().iter().map(|value| value.word()).collect();
            format!("write one of {}", words.join(", "))
        })
    }
}

impl<T: WireWord> Serialize for Word<T> {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        writer.serialize_str(self.0.word())
    }
}

impl<'de, T: WireWord> Deserialize<'de> for Word<T> {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(reader)?).map_err(serde::de::Error::custom)
    }
}

described!([T: WireWord] Word<T>, T::NAME,
    string().enum_values(Some(T::all().iter().map(|value| value.word()))).build());

/// Declares enums of the domain as words; each has `ALL` and `as_str`.
#[macro_export]
macro_rules! wire_words {
    ($($type:ty => $name:literal),+ $(,)?) => {$(
        impl $crate::platform::wire::WireWord for $type {
            const NAME: &'static str = $name;

            fn all() -> &'static [Self] {
                <$type>::ALL
            }

            fn word(self) -> &'static str {
                self.as_str()
            }
        }
    )+};
}
