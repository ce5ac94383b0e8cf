//! Lists and whole numbers from outside, held to their bounds while they are read.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, Error, SeqAccess, Visitor};

/// Reads a list of at most `MAX` items; for `#[serde(deserialize_with = "at_most::<20, _, _>")]`, beside `max_items` in
/// the schema. It stops at the item too many, so that a long list costs nothing.
///
/// # Errors
/// Where the list is longer, or an item can't be read.
pub fn at_most<'de, const MAX: usize, T, D>(reader: D) -> Result<Vec<T>, D::Error>
where
    T: Deserialize<'de>,
    D: Deserializer<'de>,
{
    struct Few<T, const MAX: usize>(PhantomData<T>);

    impl<'de, T: Deserialize<'de>, const MAX: usize> Visitor<'de> for Few<T, MAX> {
        type Value = Vec<T>;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            write!(f, "a list of at most {MAX} items")
        }

        fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Vec<T>, A::Error> {
            let mut list = Vec::new();
            while let Some(item) = items.next_element()? {
                if list.len() == MAX {
                    return Err(A::Error::custom(format_args!("send at most {MAX} items")));
                }
                list.push(item);
            }
            Ok(list)
        }
    }

    reader.deserialize_seq(Few::<T, MAX>(PhantomData))
}

/// Reads a whole number from `MIN` to `MAX`; for `#[serde(deserialize_with = "whole::<0, 1440, _>")]`, beside `minimum`
/// and `maximum` in the schema.
///
/// # Errors
/// Where it is no whole number, or out of range.
pub fn whole<'de, const MIN: u32, const MAX: u32, D: Deserializer<'de>>(reader: D) -> Result<u32, D::Error> {
    within::<MIN, MAX, D::Error>(u32::deserialize(reader)?)
}

/// The same for a number that may be null; add `default` where it may be left out.
///
/// # Errors
/// As [`whole`].
pub fn whole_or_null<'de, const MIN: u32, const MAX: u32, D: Deserializer<'de>>(
    reader: D,
) -> Result<Option<u32>, D::Error> {
    Option::<u32>::deserialize(reader)?.map(within::<MIN, MAX, D::Error>).transpose()
}

fn within<const MIN: u32, const MAX: u32, E: Error>(number: u32) -> Result<u32, E> {
    if (MIN..=MAX).contains(&number) {
        return Ok(number);
    }
    Err(E::custom(format_args!("send a whole number from {MIN} to {MAX}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(serde::Deserialize)]
    struct Sample {
        #[serde(deserialize_with = "at_most::<2, _, _>")]
        list: Vec<u8>,
        #[serde(deserialize_with = "whole::<1, 9, _>")]
        number: u32,
        #[serde(default, deserialize_with = "whole_or_null::<1, 9, _>")]
        other: Option<u32>,
    }

    fn refused(text: &str) -> String {
        serde_json::from_str::<Sample>(text).map_or_else(|error| error.to_string(), |_| String::new())
    }

    #[test]
    fn bounds_hold_at_their_edges() {
        let fine: Sample = serde_json::from_str(r#"{"list":[1,2],"number":9}"#).unwrap();
        assert_eq!((fine.list, fine.number, fine.other), (vec![1, 2], 9, None));
        assert!(refused(r#"{"list":[1,2,3],"number":9}"#).contains("at most 2 items"));
        assert!(refused(r#"{"list":[],"number":0}"#).contains("from 1 to 9"));
        assert!(refused(r#"{"list":[],"number":1,"other":10}"#).contains("from 1 to 9"));
        assert!(!refused(r#"{"list":[],"number":1.5}"#).is_empty());
    }
}
