//! Wire types: small types that parse a value when it is read and describe themselves in the API document, so that a
//! limit is written once.
//!
//! `Line<200>`, `Email`, `Amount` and the others refuse bad text while the body is read. The price: a body with two
//! malformed fields gets only the first of them reported. Rules of the domain come after that and report all faults at
//! once.

mod bounds;
mod decimal;
mod money;
mod place;
mod secret;
mod text;
mod time;
mod tried;
mod whole;
mod word;

pub use bounds::{at_most, integer, integer_or_null, whole, whole_or_null};
pub use decimal::Number;
pub use money::Amount;
pub use place::{CountryCode, CurrencyCode, Language};
pub use secret::Secret;
pub use text::{Code, Email, Line, Phone, Reference, SeriesPrefix, Text};
pub use time::{Day, Instant, WallTime};
pub use tried::Tried;
pub use whole::{Bounded, Whole};
pub use word::{Word, Words};

use utoipa::openapi::schema::{Object, ObjectBuilder, SchemaType, Type};

/// The schema of a string.
fn string() -> ObjectBuilder {
    ObjectBuilder::new().schema_type(SchemaType::Type(Type::String))
}

/// Implements the schema traits of a wire type from its object and name.
macro_rules! described {
    ([$($generics:tt)*] $type:ty, $name:expr, $object:expr) => {
        impl<$($generics)*> utoipa::PartialSchema for $type {
            fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::schema::Schema> {
                let object: $crate::platform::wire::Plain = $object;
                utoipa::openapi::RefOr::T(utoipa::openapi::schema::Schema::Object(object))
            }
        }

        impl<$($generics)*> utoipa::ToSchema for $type {
            fn name() -> std::borrow::Cow<'static, str> {
                $name.into()
            }
        }
    };
}
pub(crate) use described;

/// A schema without parts.
pub(crate) type Plain = Object;
