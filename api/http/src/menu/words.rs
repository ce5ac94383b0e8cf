//! Words of the menu as they are sent over HTTP. The API document's derive reads a plain name better than one with
//! parameters.

use baywright_core::menu::kept::{BasisKind, PriceKind};
use baywright_domain::caution::Hazard;
use baywright_domain::document::Prices;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::{Area, Chemistry, Cleanliness, Holds, Side, Unit, WaitWhen};
use baywright_domain::vehicle::{Powertrain, SizeClass};

use crate::platform::wire::Word;

/// A word for [`Hazard`].
pub(super) type HazardWord = Word<Hazard>;
/// A word for [`Prices`].
pub(super) type PricesWord = Word<Prices>;
/// A word for [`SizeClass`].
pub(super) type SizeWord = Word<SizeClass>;
/// A word for [`ConditionClass`].
pub(super) type ConditionWord = Word<ConditionClass>;
/// A word for [`Powertrain`].
pub(super) type PowertrainWord = Word<Powertrain>;
/// A word for [`Unit`].
pub(super) type UnitWord = Word<Unit>;
/// A word for [`Chemistry`].
pub(super) type ChemistryWord = Word<Chemistry>;
/// A word for [`PriceKind`].
pub(super) type PriceKindWord = Word<PriceKind>;
/// A word for [`Area`].
pub(super) type AreaWord = Word<Area>;
/// A word for [`Side`].
pub(super) type SideWord = Word<Side>;
/// A word for [`Cleanliness`].
pub(super) type CleanlinessWord = Word<Cleanliness>;
/// A word for [`WaitWhen`].
pub(super) type WaitWord = Word<WaitWhen>;
/// A word for [`Holds`].
pub(super) type HoldsWord = Word<Holds>;
/// A word for [`BasisKind`].
pub(super) type BasisWord = Word<BasisKind>;
