//! Words of the rules that drafts and documents of quotes use. The API document's derive reads a plain name better than
//! one with parameters.

use baywright_core::quote::kept::LineKind;
use baywright_domain::customer::CustomerKind;
use baywright_domain::document::Prices;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::Unit;
use baywright_domain::money::Rounding;
use baywright_domain::pricing::{ConflictKind, ExplainedKind};
use baywright_domain::quote::RevisionState;
use baywright_domain::signoff::Method;
use baywright_domain::tax::Basis;
use baywright_domain::vehicle::{Powertrain, SizeClass};

use crate::platform::wire::Word;

/// A way of pricing as its word.
pub(super) type PricesWord = Word<Prices>;
/// Basis of the tax, as its word.
pub(super) type BasisWord = Word<Basis>;
/// A way of rounding as its word.
pub(super) type RoundingWord = Word<Rounding>;
/// Effect of a row of an explanation, as its word.
pub(super) type ExplainedWord = Word<ExplainedKind>;
/// Kind of a line, as its word.
pub(super) type LineKindWord = Word<LineKind>;
/// Reason why two lines exclude each other, as its word.
pub(super) type ConflictWord = Word<ConflictKind>;
/// A condition class as its word.
pub(super) type ConditionWord = Word<ConditionClass>;
/// A size class as its word.
pub(super) type SizeWord = Word<SizeClass>;
/// A powertrain as its word.
pub(super) type PowertrainWord = Word<Powertrain>;
/// A kind of customer as its word.
pub(super) type CustomerKindWord = Word<CustomerKind>;
/// Unit of a product as its word.
pub(super) type UnitWord = Word<Unit>;
/// A state as its word.
pub(super) type StateWord = Word<RevisionState>;
/// A way of signing as its word.
pub(super) type MethodWord = Word<Method>;
