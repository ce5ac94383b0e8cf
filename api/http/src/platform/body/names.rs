//! The names of a type's fields as serde reads them.

use serde::de::{DeserializeOwned, Deserializer, Error as _, Visitor};
use serde::forward_to_deserialize_any;

/// The fields that a struct is read from; none if it is no struct, or reads whatever it finds.
pub(super) fn of<T: DeserializeOwned>() -> Option<&'static [&'static str]> {
    let mut names = None;
    // Deserialising never succeeds: it only learns which fields are requested.
    let _ = T::deserialize(Ask(&mut names));
    names
}

/// A deserialiser without data, which records the names that it is asked for.
struct Ask<'a>(&'a mut Option<&'static [&'static str]>);

impl<'de> Deserializer<'de> for Ask<'_> {
    type Error = serde::de::value::Error;

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        fields: &'static [&'static str],
        _visitor: V,
    ) -> Result<V::Value, Self::Error> {
        *self.0 = Some(fields);
        Err(Self::Error::custom("only asked"))
    }

    fn deserialize_any<V: Visitor<'de>>(self, _visitor: V) -> Result<V::Value, Self::Error> {
        Err(Self::Error::custom("no struct"))
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit unit_struct
        newtype_struct seq tuple tuple_struct map enum identifier ignored_any
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(serde::Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Filter {
        #[serde(rename = "state")]
        _states: Option<String>,
        _name: Option<String>,
    }

    #[test]
    fn the_names_are_those_that_serde_reads() {
        assert_eq!(of::<Filter>(), Some(&["state", "_name"][..]));
        assert_eq!(of::<Vec<u8>>(), None);
    }
}
