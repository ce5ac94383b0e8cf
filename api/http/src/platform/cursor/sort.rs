//! The orders in which lists can be read, and the query parameters of each.
//!
//! `sort` and `created_after` belong to the page, not to the feature: a feature names the order that its list has, and
//! the macro that loads a page reverses it and applies the limit.

use std::marker::PhantomData;

use utoipa::openapi::Required;
use utoipa::openapi::path::{Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::schema::{ObjectBuilder, SchemaType, Type};
use utoipa::{IntoParams, PartialSchema};

use crate::platform::body::bad_parameter;
use crate::platform::problem::Problem;
use crate::platform::wire::Instant;

/// The order of a list.
pub trait Sort: 'static {
    /// Values of `sort` that a client may send: the list's own order, and the reverse. Lists with such values also
    /// support `created_after`.
    const WORDS: Option<[&'static str; 2]>;
}

/// Order in which records were made, the newest first.
#[derive(Debug, Clone, Copy)]
pub struct Newest;

impl Sort for Newest {
    const WORDS: Option<[&'static str; 2]> = Some(["-created_at", "created_at"]);
}

/// Order in which work starts, the earliest first.
#[derive(Debug, Clone, Copy)]
pub struct ByStart;

impl Sort for ByStart {
    const WORDS: Option<[&'static str; 2]> = Some(["start", "-start"]);
}

/// A short list with a single order.
#[derive(Debug, Clone, Copy)]
pub struct Kept;

impl Sort for Kept {
    const WORDS: Option<[&'static str; 2]> = None;
}

/// Whether the word asks for the reversed list.
///
/// # Errors
/// 400 if it is not one of the list's sort values.
pub(super) fn turned(words: [&str; 2], word: &str) -> Result<bool, Problem> {
    let at = words.iter().position(|known| *known == word);
    at.map(|at| at == 1).ok_or_else(|| bad_parameter("sort", format!("sort: write one of {}.", words.join(", "))))
}

/// Page parameters of every list.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct PageParams {
    /// Number of records per page, at most 200; 50 if left out.
    #[param(minimum = 1, maximum = 200, nullable = false)]
    pub limit: Option<i32>,
    /// Cursor of the page, taken from `next` or `prev`; the first page if left out.
    #[param(max_length = 2000, pattern = "^[A-Za-z0-9_-]*$", nullable = false)]
    pub cursor: Option<String>,
}

/// The parameters of lists that support `sort` and `created_after`.
#[derive(Debug)]
pub struct OrderParams<S>(PhantomData<S>);

/// The parameters of a list by age.
pub type DatedParams = OrderParams<Newest>;

/// The parameters of a list by start.
pub type StartParams = OrderParams<ByStart>;

impl<S: Sort> IntoParams for OrderParams<S> {
    fn into_params(place: impl Fn() -> Option<ParameterIn>) -> Vec<Parameter> {
        let said = |name: &str, text: &str| {
            ParameterBuilder::new()
                .name(name)
                .parameter_in(ParameterIn::Query)
                .description(Some(text))
                .required(Required::False)
        };
        let words = ObjectBuilder::new().schema_type(SchemaType::Type(Type::String)).enum_values(S::WORDS);
        let sort = said(
            "sort",
            "Sort field of the list; a leading minus sorts in descending order. The first allowed value if left out.",
        );
        let after = said("created_after", "Limits the list to records that were created after this time, RFC 3339.");
        let mut all = PageParams::into_params(place);
        all.extend([sort.schema(Some(words)).build(), after.schema(Some(Instant::schema())).build()]);
        all
    }
}
