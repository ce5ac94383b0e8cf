//! Steps in requests.

use baywright_core::menu::kept::{DoseForm, SetupForm, StepForm, WaitForm};
use baywright_core::menu::usecase::MOST_MINUTES;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{all, texts, words};
use crate::menu::words::{AreaWord, BasisWord, CleanlinessWord, HazardWord, HoldsWord, SideWord, WaitWord};
use crate::platform::wire::{Code, Line, Number, at_most, whole, whole_or_null};

/// Step: a piece of work that is done once on a car even if several signed services need it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuStep)]
#[serde(deny_unknown_fields)]
pub struct StepBody {
    /// Code of the step within the shop.
    #[schema(example = "iron-removal")]
    pub code: Code,
    /// Name of the step as people read it.
    #[schema(example = "Remove iron fallout")]
    pub name: Line<200>,
    /// Stage in the usual order of work; decides between orders with equal changeover minutes.
    #[serde(deserialize_with = "whole::<0, 999, _>")]
    #[schema(minimum = 0, maximum = 999, example = 30)]
    pub stage: u32,
    /// Base time of one person for a medium car in fair condition, in minutes; at most thirty days.
    #[serde(deserialize_with = "whole::<0, MOST_MINUTES, _>")]
    #[schema(minimum = 0, maximum = 43_200, example = 20)]
    pub base_minutes: u32,
    /// Whether the budget grows with the vehicle's size.
    pub by_size: bool,
    /// Whether the budget grows with the vehicle's condition.
    pub by_condition: bool,
    /// Time that two people need, as a share of the time of one person, from 0.5 to 1; null if a second person does not
    /// help.
    #[schema(example = "0.6")]
    pub two_hands: Option<Number>,
    /// Skills that one person must have, all of them.
    #[serde(deserialize_with = "at_most::<10, _, _>")]
    #[schema(max_items = 10)]
    pub skills: Vec<Code>,
    /// Features that the bay must have.
    #[serde(deserialize_with = "at_most::<10, _, _>")]
    #[schema(max_items = 10)]
    pub bay_features: Vec<Code>,
    /// Wait after the step, such as drying or curing; null if the next step may follow at once.
    pub wait: Option<WaitBody>,
    /// Shortest piece of work into which the step may be split, in minutes; null if the step cannot be interrupted.
    #[serde(default, deserialize_with = "whole_or_null::<1, MOST_MINUTES, _>")]
    #[schema(minimum = 1, maximum = 43_200, example = 60)]
    pub split_piece_minutes: Option<u32>,
    /// Setup that the step needs.
    pub setup: SetupBody,
    /// Amounts of products that the step needs.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub doses: Vec<DoseBody>,
    /// Hazards of the work. THIN_PAINT means that the step removes paint, as sanding and compounding do: if readings
    /// are beyond the shop's limits, the step is neither offered nor begun without the owner's decision.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub hazards: Vec<HazardWord>,
    /// Cautions for the crew, in the shop's own words. A caution for both crew and customer belongs in both lists.
    #[serde(deserialize_with = "at_most::<10, _, _>")]
    #[schema(max_items = 10)]
    pub own_cautions: Vec<Line<400>>,
    /// Cautions for the customer, in the shop's own words, such as not to wash the car for a week; shown on the quote.
    /// Empty if left out.
    #[serde(default, deserialize_with = "at_most::<10, _, _>")]
    #[schema(max_items = 10, required = false)]
    pub customer_cautions: Vec<Line<400>>,
    /// Codes of steps that must be finished before it, if they are part of the car's work.
    #[serde(deserialize_with = "at_most::<40, _, _>")]
    #[schema(max_items = 40)]
    pub after: Vec<Code>,
    /// Whether the values are still unchecked common practice from the starter menu. Leave it out once this shop has
    /// checked them.
    #[serde(default)]
    #[schema(required = false)]
    pub common_practice: bool,
}

/// Minimum wait after a step; the actual wait may be longer.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuStepWait)]
#[serde(deny_unknown_fields)]
pub struct WaitBody {
    /// Minimum duration of the wait, in minutes; at most thirty days.
    #[serde(deserialize_with = "whole::<1, MOST_MINUTES, _>")]
    #[schema(minimum = 1, maximum = 43_200, example = 720)]
    pub wait_minutes: u32,
    /// Times that count for the wait: `ANY` for all times, `OPEN` only for times when the shop is open.
    pub when: WaitWord,
    /// Work that the wait holds back: `CAR` all other work on the car, such as while a coating cures; `AFTER` only the steps
    /// that must come after this one, such as while seats dry. `CAR` if left out.
    #[serde(default)]
    #[schema(required = false)]
    pub holds: HoldsWord,
    /// Whether the car must stay in the bay during the wait.
    pub needs_bay: bool,
    /// Whether the car must be under cover during the wait.
    pub needs_cover: bool,
}

/// Setup of a step; differences from the step before cost changeover minutes.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuStepSetup)]
#[serde(deny_unknown_fields)]
pub struct SetupBody {
    /// Area of the work: wet or dry.
    pub area: AreaWord,
    /// Side of the car: outside or inside.
    pub side: SideWord,
    /// Part of the car; null if moving between parts costs no time.
    #[schema(example = "wheels")]
    pub zone: Option<Code>,
    /// Tool that must be fetched and put away; null if none.
    #[schema(example = "machine-polisher")]
    pub tool: Option<Code>,
    /// Whether the car is masked for the step.
    pub masked: bool,
    /// Cleanliness of the products: dirty or clean.
    pub cleanliness: CleanlinessWord,
}

/// Amount of a product that a step needs: units × rate × size factor, ready to use, thus after mixing.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuStepDose)]
#[serde(deny_unknown_fields)]
pub struct DoseBody {
    /// Code of the product.
    #[schema(example = "shampoo-ph-neutral")]
    pub product: Code,
    /// Basis of the amount: area or number of pieces.
    pub basis: BasisWord,
    /// Number of square metres of a medium car, or number of pieces such as wheels.
    #[schema(example = "4")]
    pub units: Number,
    /// Amount per square metre or piece, in the product's unit.
    #[schema(example = "50")]
    pub rate: Number,
    /// Whether a larger car needs more of the product.
    pub by_size: bool,
}

impl From<StepBody> for StepForm {
    fn from(body: StepBody) -> Self {
        Self {
            code: body.code.into(),
            name: body.name.into(),
            stage: body.stage,
            base_minutes: body.base_minutes,
            by_size: body.by_size,
            by_condition: body.by_condition,
            two_hands: body.two_hands.map(Into::into),
            skills: texts(body.skills),
            bay_features: texts(body.bay_features),
            wait: body.wait.map(Into::into),
            split_piece_minutes: body.split_piece_minutes,
            setup: body.setup.into(),
            doses: all(body.doses),
            hazards: words(body.hazards),
            own_cautions: texts(body.own_cautions),
            customer_cautions: texts(body.customer_cautions),
            after: texts(body.after),
            common_practice: body.common_practice,
        }
    }
}

impl From<WaitBody> for WaitForm {
    fn from(body: WaitBody) -> Self {
        Self {
            wait_minutes: body.wait_minutes,
            when: body.when.into(),
            holds: body.holds.into(),
            needs_bay: body.needs_bay,
            needs_cover: body.needs_cover,
        }
    }
}

impl From<SetupBody> for SetupForm {
    fn from(body: SetupBody) -> Self {
        Self {
            area: body.area.into(),
            side: body.side.into(),
            zone: body.zone.map(Into::into),
            tool: body.tool.map(Into::into),
            masked: body.masked,
            cleanliness: body.cleanliness.into(),
        }
    }
}

impl From<DoseBody> for DoseForm {
    fn from(body: DoseBody) -> Self {
        Self {
            product: body.product.into(),
            basis: body.basis.into(),
            units: body.units.into(),
            rate: body.rate.into(),
            by_size: body.by_size,
        }
    }
}
