//! Reads an object only from an object.
//!
//! Code that serde derives for a struct also accepts a list of its fields in order. A body in that form would be
//! accepted although the API document does not describe it, so it is refused here, at every depth.

use std::fmt;

use serde::Deserializer;
use serde::de::{DeserializeSeed, EnumAccess, Error, MapAccess, SeqAccess, VariantAccess, Visitor};

/// A deserialiser that refuses a list in the place of an object, at every depth.
pub(super) struct Objects<D> {
    inner: D,
}

impl<D> Objects<D> {
    /// The value that `inner` reads, under that rule.
    pub(super) fn only(inner: D) -> Self {
        Self { inner }
    }
}

/// The visitor of a struct, which a list can't stand for. The struct's own way to read a list is never named here, so that
/// it is not compiled for each type of body either.
struct Fields<V>(V);

impl<'de, V: Visitor<'de>> Visitor<'de> for Fields<V> {
    type Value = V::Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.expecting(f)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, _list: A) -> Result<V::Value, A::Error> {
        Err(A::Error::custom("Send an object with named fields here, not a list"))
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<V::Value, A::Error> {
        self.0.visit_map(Objects::only(map))
    }
}

/// Forwards a call, with its visitor wrapped to follow the rule.
macro_rules! hand_on {
    ($($name:ident)*) => {
        $(fn $name<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, D::Error> {
            self.inner.$name(Objects::only(visitor))
        })*
    };
}

impl<'de, D: Deserializer<'de>> Deserializer<'de> for Objects<D> {
    type Error = D::Error;

    hand_on! {
        deserialize_any deserialize_bool deserialize_i8 deserialize_i16 deserialize_i32 deserialize_i64 deserialize_i128
        deserialize_u8 deserialize_u16 deserialize_u32 deserialize_u64 deserialize_u128 deserialize_f32 deserialize_f64
        deserialize_char deserialize_str deserialize_string deserialize_bytes deserialize_byte_buf deserialize_option
        deserialize_unit deserialize_seq deserialize_map deserialize_identifier deserialize_ignored_any
    }

    fn deserialize_unit_struct<V: Visitor<'de>>(self, name: &'static str, visitor: V) -> Result<V::Value, D::Error> {
        self.inner.deserialize_unit_struct(name, Objects::only(visitor))
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(self, name: &'static str, visitor: V) -> Result<V::Value, D::Error> {
        self.inner.deserialize_newtype_struct(name, Objects::only(visitor))
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, len: usize, visitor: V) -> Result<V::Value, D::Error> {
        self.inner.deserialize_tuple(len, Objects::only(visitor))
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        len: usize,
        visitor: V,
    ) -> Result<V::Value, D::Error> {
        self.inner.deserialize_tuple_struct(name, len, Objects::only(visitor))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, D::Error> {
        self.inner.deserialize_struct(name, fields, Fields(visitor))
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, D::Error> {
        self.inner.deserialize_enum(name, variants, Objects::only(visitor))
    }

    fn is_human_readable(&self) -> bool {
        self.inner.is_human_readable()
    }
}

/// Forwards a value that contains no other.
macro_rules! hand_in {
    ($($name:ident: $type:ty),* $(,)?) => {
        $(fn $name<E: Error>(self, value: $type) -> Result<V::Value, E> {
            self.inner.$name(value)
        })*
    };
}

impl<'de, V: Visitor<'de>> Visitor<'de> for Objects<V> {
    type Value = V::Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.inner.expecting(f)
    }

    hand_in! {
        visit_bool: bool, visit_i8: i8, visit_i16: i16, visit_i32: i32, visit_i64: i64, visit_i128: i128, visit_u8: u8,
        visit_u16: u16, visit_u32: u32, visit_u64: u64, visit_u128: u128, visit_f32: f32, visit_f64: f64,
        visit_char: char, visit_str: &str, visit_borrowed_str: &'de str, visit_string: String, visit_bytes: &[u8],
        visit_borrowed_bytes: &'de [u8], visit_byte_buf: Vec<u8>,
    }

    fn visit_none<E: Error>(self) -> Result<V::Value, E> {
        self.inner.visit_none()
    }

    fn visit_unit<E: Error>(self) -> Result<V::Value, E> {
        self.inner.visit_unit()
    }

    fn visit_some<D: Deserializer<'de>>(self, value: D) -> Result<V::Value, D::Error> {
        self.inner.visit_some(Objects::only(value))
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, value: D) -> Result<V::Value, D::Error> {
        self.inner.visit_newtype_struct(Objects::only(value))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, list: A) -> Result<V::Value, A::Error> {
        self.inner.visit_seq(Objects::only(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<V::Value, A::Error> {
        self.inner.visit_map(Objects::only(map))
    }

    fn visit_enum<A: EnumAccess<'de>>(self, choice: A) -> Result<V::Value, A::Error> {
        self.inner.visit_enum(Objects::only(choice))
    }
}

impl<'de, S: DeserializeSeed<'de>> DeserializeSeed<'de> for Objects<S> {
    type Value = S::Value;

    fn deserialize<D: Deserializer<'de>>(self, value: D) -> Result<S::Value, D::Error> {
        self.inner.deserialize(Objects::only(value))
    }
}

impl<'de, A: SeqAccess<'de>> SeqAccess<'de> for Objects<A> {
    type Error = A::Error;

    fn next_element_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, A::Error> {
        self.inner.next_element_seed(Objects::only(seed))
    }

    fn size_hint(&self) -> Option<usize> {
        self.inner.size_hint()
    }
}

impl<'de, A: MapAccess<'de>> MapAccess<'de> for Objects<A> {
    type Error = A::Error;

    fn next_key_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<Option<S::Value>, A::Error> {
        self.inner.next_key_seed(Objects::only(seed))
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<S::Value, A::Error> {
        self.inner.next_value_seed(Objects::only(seed))
    }

    fn size_hint(&self) -> Option<usize> {
        self.inner.size_hint()
    }
}

impl<'de, A: EnumAccess<'de>> EnumAccess<'de> for Objects<A> {
    type Error = A::Error;
    type Variant = Objects<A::Variant>;

    fn variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<(S::Value, Self::Variant), A::Error> {
        let (value, variant) = self.inner.variant_seed(Objects::only(seed))?;
        Ok((value, Objects::only(variant)))
    }
}

impl<'de, A: VariantAccess<'de>> VariantAccess<'de> for Objects<A> {
    type Error = A::Error;

    fn unit_variant(self) -> Result<(), A::Error> {
        self.inner.unit_variant()
    }

    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, A::Error> {
        self.inner.newtype_variant_seed(Objects::only(seed))
    }

    fn tuple_variant<V: Visitor<'de>>(self, len: usize, visitor: V) -> Result<V::Value, A::Error> {
        self.inner.tuple_variant(len, Objects::only(visitor))
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, A::Error> {
        self.inner.struct_variant(fields, Fields(visitor))
    }
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;
    use serde_json::{Value, json};

    use super::*;

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Inner {
        word: String,
    }

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(rename_all = "snake_case")]
    enum Choice {
        Nothing,
        Fields { word: String },
    }

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Outer {
        one: Inner,
        some: Option<Inner>,
        many: Vec<Inner>,
        choice: Choice,
        any: Value,
    }

    fn read(value: &Value) -> Result<Outer, String> {
        let text = value.to_string();
        let mut reader = serde_json::Deserializer::from_str(&text);
        Outer::deserialize(Objects::only(&mut reader)).map_err(|error| error.to_string())
    }

    fn good() -> Value {
        let one = json!({ "word": "a" });
        json!({ "one": one, "some": one, "many": [one], "choice": { "fields": { "word": "b" } }, "any": [1.50, [true]] })
    }

    #[test]
    fn objects_and_lists_are_read_where_they_belong() {
        let outer = read(&good()).unwrap();
        assert_eq!(outer.many, [Inner { word: "a".to_owned() }]);
        assert_eq!((outer.any, outer.choice), (json!([1.50, [true]]), Choice::Fields { word: "b".to_owned() }));
        let mut without = good();
        (without["some"], without["choice"]) = (Value::Null, json!("nothing"));
        let outer = read(&without).unwrap();
        assert_eq!((outer.some, outer.choice), (None, Choice::Nothing));
    }

    #[test]
    fn a_list_is_no_object_at_any_depth() {
        let (list, one) = (json!(["a"]), json!({ "word": "a" }));
        let mut wrong = vec![json!([one, null, [], "nothing", 1])];
        for (at, value) in [
            ("/one", list.clone()),
            ("/some", list.clone()),
            ("/many", json!([list])),
            ("/choice/fields", json!(["b"])),
        ] {
            let mut body = good();
            *body.pointer_mut(at).unwrap() = value;
            wrong.push(body);
        }
        for body in wrong {
            let said = read(&body).unwrap_err();
            assert!(said.starts_with("Send an object with named fields here"), "{body}: {said}");
        }
    }
}
