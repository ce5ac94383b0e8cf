//! Whole numbers with bounds.

use serde::{Deserialize, Deserializer, Serialize};
use utoipa::openapi::schema::{KnownFormat, ObjectBuilder, SchemaFormat, SchemaType, Type};

use super::described;

/// A whole number from `MIN` to `MAX`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(transparent)]
pub struct Whole<const MIN: u32, const MAX: u32>(u32);

impl<const MIN: u32, const MAX: u32> Whole<MIN, MAX> {
    /// The number, if it is within the bounds.
    ///
    /// # Errors
    /// A sentence that says the bounds.
    pub fn new(number: i64) -> Result<Self, String> {
        let fits = u32::try_from(number).ok().filter(|number| (MIN..=MAX).contains(number));
        fits.map(Self).ok_or_else(|| format!("write a whole number from {MIN} to {MAX}"))
    }

    /// A stored number; one out of bounds becomes the nearest bound.
    pub fn of(number: impl Into<u32>) -> Self {
        Self(number.into().clamp(MIN, MAX))
    }

    /// The number.
    pub fn get(self) -> u32 {
        self.0
    }

    /// The number as a smaller type; the bound of that type if it does not fit.
    pub fn small<T: TryFrom<u32> + Bounded>(self) -> T {
        T::try_from(self.0).unwrap_or(T::LARGEST)
    }
}

/// Types that numbers of requests are kept in.
pub trait Bounded {
    /// The largest value of the type.
    const LARGEST: Self;
}

impl Bounded for u8 {
    const LARGEST: Self = Self::MAX;
}

impl Bounded for u16 {
    const LARGEST: Self = Self::MAX;
}

impl<'de, const MIN: u32, const MAX: u32> Deserialize<'de> for Whole<MIN, MAX> {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        Self::new(super::integer(reader)?).map_err(serde::de::Error::custom)
    }
}

described!([const MIN: u32, const MAX: u32] Whole<MIN, MAX>, format!("Whole{MIN}To{MAX}"),
    ObjectBuilder::new().schema_type(SchemaType::Type(Type::Integer))
        .format(Some(SchemaFormat::KnownFormat(KnownFormat::Int32)))
        .minimum(Some(MIN)).maximum(Some(MAX)).examples([MIN]).build());

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_out_of_bounds_is_refused() {
        assert_eq!(Whole::<1, 5>::new(5).map(Whole::get), Ok(5));
        for bad in [0, 6, -1, i64::MAX, i64::MIN] {
            assert!(Whole::<1, 5>::new(bad).is_err(), "{bad}");
        }
        assert!(serde_json::from_str::<Whole<1, 5>>("2.5").is_err());
        assert_eq!(serde_json::from_str::<Whole<1, 5>>("2.0").ok().map(Whole::get), Some(2));
        assert_eq!(Whole::<0, 1000>::of(700_u16).small::<u8>(), u8::MAX);
    }
}
