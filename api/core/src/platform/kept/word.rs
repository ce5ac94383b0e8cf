//! Words of a fixed list: the states and kinds of the domain.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// An enum of the domain that is written as one of its words. A word that was ever stored can be read for ever.
pub trait Named: Copy + Send + Sync + 'static {
    /// Name of the list in the API document.
    const NAME: &'static str;

    /// Every value, in a fixed order.
    fn all() -> &'static [Self];

    /// The word of a value in the API, in `UPPER_SNAKE`.
    fn word(self) -> &'static str;

    /// The word of a value in the database and in stored documents: the one of the API, unless that was renamed later.
    /// Constraints of the database and digests of documents contain it.
    fn stored(self) -> &'static str {
        self.word()
    }

    /// The value of a stored word.
    fn of_stored(word: &str) -> Option<Self> {
        Self::all().iter().copied().find(|value| value.stored() == word)
    }

    /// The value of a word of the API.
    fn of_word(word: &str) -> Option<Self> {
        Self::all().iter().copied().find(|value| value.word() == word)
    }
}

/// A value of a fixed list, written as its stored word.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Word<T>(pub T);

impl<T: Named> Serialize for Word<T> {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        writer.serialize_str(self.0.stored())
    }
}

impl<'de, T: Named> Deserialize<'de> for Word<T> {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        let word = String::deserialize(reader)?;
        T::of_stored(&word)
            .map(Self)
            .ok_or_else(|| serde::de::Error::custom(format_args!("{word} is no word of {}", T::NAME)))
    }
}

/// Declares enums of the domain as words; each has `ALL` and `as_str`. Values whose word was renamed are listed with
/// the older word, which is still stored.
#[macro_export]
macro_rules! words {
    ($($type:ty => $name:literal $({ $($value:ident = $older:literal),+ $(,)? })?),+ $(,)?) => {$(
        impl $crate::platform::kept::Named for $type {
            const NAME: &'static str = $name;

            fn all() -> &'static [Self] {
                <$type>::ALL
            }

            fn word(self) -> &'static str {
                self.as_str()
            }

            $(fn stored(self) -> &'static str {
                match self {
                    $(Self::$value => $older,)+
                    other => other.as_str(),
                }
            })?
        }
    )+};
}
