//! Lists and whole numbers from outside, held to their bounds while they are read.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{Deserialize, Deserializer, Error, SeqAccess, Unexpected, Visitor};

/// Reads a list of at most `MAX` items; for `#[serde(deserialize_with = "at_most::<20, _, _>")]`, beside `max_items` in
/// the schema. It stops at the item too many, so that a long list costs nothing.
///
/// # Errors
/// If the list is longer, or an item can't be read.
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
/// If it is no whole number, or out of range.
pub fn whole<'de, const MIN: u32, const MAX: u32, D: Deserializer<'de>>(reader: D) -> Result<u32, D::Error> {
    within::<MIN, MAX, D::Error>(Integer::deserialize(reader)?)
}

/// The same for a number that may be null; add `default` if it may be left out.
///
/// # Errors
/// As [`whole`].
pub fn whole_or_null<'de, const MIN: u32, const MAX: u32, D: Deserializer<'de>>(
    reader: D,
) -> Result<Option<u32>, D::Error> {
    Option::<Integer>::deserialize(reader)?.map(within::<MIN, MAX, D::Error>).transpose()
}

fn within<const MIN: u32, const MAX: u32, E: Error>(number: Integer) -> Result<u32, E> {
    let number = u32::try_from(number.0).ok().filter(|number| (MIN..=MAX).contains(number));
    number.ok_or_else(|| E::custom(format_args!("send a whole number from {MIN} to {MAX}")))
}

/// Reads a whole number of any type, whose bounds are looked at elsewhere; for `#[serde(deserialize_with = "integer")]`.
///
/// # Errors
/// If it is no whole number, or the type can't hold it.
pub fn integer<'de, T: TryFrom<i64>, D: Deserializer<'de>>(reader: D) -> Result<T, D::Error> {
    held(Integer::deserialize(reader)?)
}

/// The same for a number that may be null; add `default` if it may be left out.
///
/// # Errors
/// As [`integer`].
pub fn integer_or_null<'de, T: TryFrom<i64>, D: Deserializer<'de>>(reader: D) -> Result<Option<T>, D::Error> {
    Option::<Integer>::deserialize(reader)?.map(held).transpose()
}

fn held<T: TryFrom<i64>, E: Error>(number: Integer) -> Result<T, E> {
    T::try_from(number.0).map_err(|_| E::custom(format_args!("the whole number {} is out of range", number.0)))
}

/// A whole number as JSON may write it: `25.0` is one too (JSON Schema 2020-12, validation, section 6.1.1).
#[derive(Clone, Copy)]
struct Integer(i64);

impl<'de> Deserialize<'de> for Integer {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        struct Read;

        impl Visitor<'_> for Read {
            type Value = Integer;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a whole number")
            }

            fn visit_i64<E: Error>(self, number: i64) -> Result<Integer, E> {
                Ok(Integer(number))
            }

            fn visit_u64<E: Error>(self, number: u64) -> Result<Integer, E> {
                let held = i64::try_from(number).map(Integer);
                held.map_err(|_| E::invalid_value(Unexpected::Unsigned(number), &self))
            }

            fn visit_f64<E: Error>(self, number: f64) -> Result<Integer, E> {
                // Written out, a whole one has no point.
                let held = number.to_string().parse().map(Integer);
                held.map_err(|_| E::invalid_value(Unexpected::Float(number), &self))
            }
        }

        reader.deserialize_i64(Read)
    }
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
    }

    /// JSON Schema 2020-12, validation, 6.1.1: a number without a fraction is an integer, however it is written.
    #[test]
    fn a_whole_number_may_be_written_with_a_point() {
        let fine: Sample = serde_json::from_str(r#"{"list":[],"number":9.0,"other":1e0}"#).unwrap();
        assert_eq!((fine.number, fine.other), (9, Some(1)));
        for bad in ["1.5", "10.0", "-1.0", "1e300", "18446744073709551615", "\"9\"", "null", "true"] {
            assert!(!refused(&format!(r#"{{"list":[],"number":{bad}}}"#)).is_empty(), "{bad}");
        }
        let mut reader = serde_json::Deserializer::from_str("255.0 256");
        assert_eq!(integer::<u8, _>(&mut reader).unwrap(), 255);
        assert!(integer::<u8, _>(&mut reader).unwrap_err().to_string().contains("out of range"));
    }
}
