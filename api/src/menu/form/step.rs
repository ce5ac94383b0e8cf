//! Steps as they travel.

use baywright_domain::menu::{Area, Basis, Dose, Holds, Setup, Side, Soil, Split, Step, Wait, WaitWhen};
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{HazardWord, caution_lists, cautions, code, code_form, codes, codes_form, stage};
use crate::platform::problem::Problem;
use crate::platform::wire::{Code, Line, Number, Word, at_most, whole, whole_or_null};

crate::wire_words! { Area => "WorkArea", Side => "WorkSide", Soil => "WorkSoil", WaitWhen => "WaitWhen", BasisKind => "DoseBasis" }

/// The most minutes of a step, or of a wait after it: thirty days.
pub const MOST_MINUTES: u32 = 43_200;

// The API document's derive reads a plain name better than one with parameters.
/// A word for [`Area`].
pub type AreaWord = Word<Area>;
/// A word for [`Side`].
pub type SideWord = Word<Side>;
/// A word for [`Soil`].
pub type SoilWord = Word<Soil>;
/// A word for [`WaitWhen`].
pub type WaitWord = Word<WaitWhen>;
/// A word for [`BasisKind`].
pub type BasisWord = Word<BasisKind>;

/// What the amount of a product goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BasisKind {
    /// Square metres of a medium car.
    Area,
    /// So many things, such as four wheels.
    Count,
}

impl BasisKind {
    const ALL: &'static [Self] = &[Self::Area, Self::Count];

    const fn as_str(self) -> &'static str {
        match self {
            Self::Area => "AREA",
            Self::Count => "COUNT",
        }
    }
}

/// Step: a piece of work that is done once on a car even if several signed services need it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = MenuStep)]
#[serde(deny_unknown_fields)]
pub struct StepForm {
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
    /// Share of the time that two people need, from 0.5 to 1; null if a second person does not help.
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
    pub wait: Option<WaitForm>,
    /// Smallest piece of work that is worth starting, in minutes; null if the step cannot be interrupted.
    #[serde(default, deserialize_with = "whole_or_null::<1, MOST_MINUTES, _>")]
    #[schema(minimum = 1, maximum = 43_200, example = 60)]
    pub split_piece_minutes: Option<u32>,
    /// Setup that the step needs.
    pub setup: SetupForm,
    /// Amounts of products that the step needs.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub doses: Vec<DoseForm>,
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

/// Minimum wait between a step and the next one; the actual wait may be longer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = MenuStepWait)]
#[serde(deny_unknown_fields)]
pub struct WaitForm {
    /// Minimum duration of the wait, in minutes; at most thirty days.
    #[serde(deserialize_with = "whole::<1, MOST_MINUTES, _>")]
    #[schema(minimum = 1, maximum = 43_200, example = 720)]
    pub wait_minutes: u32,
    /// Times that count for the wait: `ANY` also while the shop is closed, `OPEN` only while it is open.
    pub when: WaitWord,
    /// Whether the car must stay in the bay during the wait.
    pub needs_bay: bool,
    /// Whether the car must be under cover during the wait.
    pub needs_cover: bool,
}

/// Setup of a step; differences from the step before cost changeover minutes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = MenuStepSetup)]
#[serde(deny_unknown_fields)]
pub struct SetupForm {
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
    pub soil: SoilWord,
}

/// Amount of a product that a step needs: units × rate × size factor, ready to use, thus after mixing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = MenuStepDose)]
#[serde(deny_unknown_fields)]
pub struct DoseForm {
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
    /// Whether a larger car needs more.
    pub by_size: bool,
}

impl StepForm {
    /// The step of the rules.
    ///
    /// # Errors
    /// 422 where a code can't be read.
    pub fn read(&self) -> Result<Step, Problem> {
        Ok(Step {
            code: code(&self.code)?,
            name: self.name.to_string(),
            stage: stage(self.stage),
            minutes: Minutes::new(self.base_minutes),
            by_size: self.by_size,
            by_condition: self.by_condition,
            two_hands: self.two_hands.map(|share| share.0),
            skills: codes(&self.skills)?,
            features: codes(&self.bay_features)?,
            wait: self.wait.as_ref().map_or(Wait::NONE, WaitForm::read),
            split: self.split_piece_minutes.map(|piece| Split { piece: Minutes::new(piece) }),
            setup: self.setup.read()?,
            doses: self.doses.iter().map(DoseForm::read).collect::<Result<_, _>>()?,
            cautions: cautions(&self.hazards, &self.own_cautions, &self.customer_cautions),
            after: codes(&self.after)?,
        })
    }

    /// The form of a step.
    ///
    /// # Errors
    /// Where it holds text that no form lets in.
    pub fn of(step: &Step) -> Result<Self, String> {
        let lists = caution_lists(&step.cautions)?;
        Ok(Self {
            code: code_form(&step.code)?,
            name: Line::parse(&step.name)?,
            stage: u32::from(step.stage),
            base_minutes: step.minutes.get(),
            by_size: step.by_size,
            by_condition: step.by_condition,
            two_hands: step.two_hands.map(Number),
            skills: codes_form(&step.skills)?,
            bay_features: codes_form(&step.features)?,
            wait: (step.wait.minutes > Minutes::ZERO).then(|| WaitForm::of(step.wait)),
            split_piece_minutes: step.split.map(|split| split.piece.get()),
            setup: SetupForm::of(&step.setup)?,
            doses: step.doses.iter().map(DoseForm::of).collect::<Result<_, _>>()?,
            hazards: lists.hazards,
            own_cautions: lists.own,
            customer_cautions: lists.for_customer,
            after: codes_form(&step.after)?,
            common_practice: false,
        })
    }
}

impl WaitForm {
    fn read(&self) -> Wait {
        Wait {
            minutes: Minutes::new(self.wait_minutes),
            when: self.when.0,
            holds: Holds::Car,
            needs_bay: self.needs_bay,
            needs_cover: self.needs_cover,
        }
    }

    fn of(wait: Wait) -> Self {
        Self {
            wait_minutes: wait.minutes.get(),
            when: Word(wait.when),
            needs_bay: wait.needs_bay,
            needs_cover: wait.needs_cover,
        }
    }
}

impl SetupForm {
    fn read(&self) -> Result<Setup, Problem> {
        Ok(Setup {
            area: self.area.0,
            side: self.side.0,
            zone: self.zone.as_ref().map(code).transpose()?,
            tool: self.tool.as_ref().map(code).transpose()?,
            masked: self.masked,
            soil: self.soil.0,
        })
    }

    fn of(setup: &Setup) -> Result<Self, String> {
        Ok(Self {
            area: Word(setup.area),
            side: Word(setup.side),
            zone: setup.zone.as_ref().map(code_form).transpose()?,
            tool: setup.tool.as_ref().map(code_form).transpose()?,
            masked: setup.masked,
            soil: Word(setup.soil),
        })
    }
}

impl DoseForm {
    fn read(&self) -> Result<Dose, Problem> {
        let basis = match self.basis.0 {
            BasisKind::Area => Basis::Area(self.units.0),
            BasisKind::Count => Basis::Count(self.units.0),
        };
        Ok(Dose { product: code(&self.product)?, basis, rate: self.rate.0, by_size: self.by_size })
    }

    fn of(dose: &Dose) -> Result<Self, String> {
        let basis = match dose.basis {
            Basis::Area(_) => BasisKind::Area,
            Basis::Count(_) => BasisKind::Count,
        };
        Ok(Self {
            product: code_form(&dose.product)?,
            basis: Word(basis),
            units: Number(dose.basis.units()),
            rate: Number(dose.rate),
            by_size: dose.by_size,
        })
    }
}
