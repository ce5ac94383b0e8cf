//! Steps as they are stored.

use baywright_domain::caution::Hazard;
use baywright_domain::menu::{Area, Basis, Cleanliness, Dose, Holds, Setup, Side, Split, Step, Wait, WaitWhen};
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};

use super::{caution_lists, cautions, code, codes, stage, texts};
use crate::platform::kept::{Number, Word};
use crate::platform::refusal::Refused;

crate::words! { BasisKind => "DoseBasis" }

/// Basis of the amount of a product.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BasisKind {
    /// Square metres of a medium car.
    Area,
    /// Number of pieces, such as four wheels.
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
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StepForm {
    /// Code of the step within the shop.
    pub code: String,
    /// Name of the step as people read it.
    pub name: String,
    /// Stage in the usual order of work; decides between orders with equal changeover minutes.
    pub stage: u32,
    /// Base time of one person for a medium car in fair condition, in minutes; at most thirty days.
    pub base_minutes: u32,
    /// Whether the budget grows with the vehicle's size.
    pub by_size: bool,
    /// Whether the budget grows with the vehicle's condition.
    pub by_condition: bool,
    /// Time that two people need, as a share of the time of one person, from 0.5 to 1; null if a second person does not
    /// help.
    pub two_hands: Option<Number>,
    /// Skills that one person must have, all of them.
    pub skills: Vec<String>,
    /// Features that the bay must have.
    pub bay_features: Vec<String>,
    /// Wait after the step, such as drying or curing; null if the next step may follow at once.
    pub wait: Option<WaitForm>,
    /// Shortest piece of work into which the step may be split, in minutes; null if the step cannot be interrupted.
    #[serde(default)]
    pub split_piece_minutes: Option<u32>,
    /// Setup that the step needs.
    pub setup: SetupForm,
    /// Amounts of products that the step needs.
    pub doses: Vec<DoseForm>,
    /// Hazards of the work. THIN_PAINT means that the step removes paint, as sanding and compounding do: if readings
    /// are beyond the shop's limits, the step is neither offered nor begun without the owner's decision.
    pub hazards: Vec<Word<Hazard>>,
    /// Cautions for the crew, in the shop's own words. A caution for both crew and customer belongs in both lists.
    pub own_cautions: Vec<String>,
    /// Cautions for the customer, in the shop's own words, such as not to wash the car for a week; shown on the quote.
    /// Empty if left out.
    #[serde(default)]
    pub customer_cautions: Vec<String>,
    /// Codes of steps that must be finished before it, if they are part of the car's work.
    pub after: Vec<String>,
    /// Whether the values are still unchecked common practice from the starter menu. Leave it out once this shop has
    /// checked them.
    #[serde(default)]
    pub common_practice: bool,
}

/// Minimum wait after a step; the actual wait may be longer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WaitForm {
    /// Minimum duration of the wait, in minutes; at most thirty days.
    pub wait_minutes: u32,
    /// Times that count for the wait: `ANY` for all times, `OPEN` only for times when the shop is open.
    pub when: Word<WaitWhen>,
    /// Work that the wait holds back: `CAR` all other work on the car, `AFTER` only the steps that must come after this
    /// one.
    #[serde(default)]
    pub holds: Word<Holds>,
    /// Whether the car must stay in the bay during the wait.
    pub needs_bay: bool,
    /// Whether the car must be under cover during the wait.
    pub needs_cover: bool,
}

/// Setup of a step; differences from the step before cost changeover minutes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SetupForm {
    /// Area of the work: wet or dry.
    pub area: Word<Area>,
    /// Side of the car: outside or inside.
    pub side: Word<Side>,
    /// Part of the car; null if moving between parts costs no time.
    pub zone: Option<String>,
    /// Tool that must be fetched and put away; null if none.
    pub tool: Option<String>,
    /// Whether the car is masked for the step.
    pub masked: bool,
    /// Cleanliness of the products: dirty or clean.
    #[serde(rename = "soil", alias = "cleanliness")]
    pub cleanliness: Word<Cleanliness>,
}

/// Amount of a product that a step needs: units × rate × size factor, ready to use, thus after mixing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DoseForm {
    /// Code of the product.
    pub product: String,
    /// Basis of the amount: area or number of pieces.
    pub basis: Word<BasisKind>,
    /// Number of square metres of a medium car, or number of pieces such as wheels.
    pub units: Number,
    /// Amount per square metre or piece, in the product's unit.
    pub rate: Number,
    /// Whether a larger car needs more of the product.
    pub by_size: bool,
}

impl StepForm {
    /// The step of the rules.
    ///
    /// # Errors
    /// `Invalid` if a code can't be read.
    pub fn read(&self) -> Result<Step, Refused> {
        Ok(Step {
            code: code(&self.code)?,
            name: self.name.clone(),
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
    pub fn of(step: &Step) -> Self {
        let lists = caution_lists(&step.cautions);
        Self {
            code: step.code.to_string(),
            name: step.name.clone(),
            stage: u32::from(step.stage),
            base_minutes: step.minutes.get(),
            by_size: step.by_size,
            by_condition: step.by_condition,
            two_hands: step.two_hands.map(Number),
            skills: texts(&step.skills),
            bay_features: texts(&step.features),
            wait: (step.wait.minutes > Minutes::ZERO).then(|| WaitForm::of(step.wait)),
            split_piece_minutes: step.split.map(|split| split.piece.get()),
            setup: SetupForm::of(&step.setup),
            doses: step.doses.iter().map(DoseForm::of).collect(),
            hazards: lists.hazards,
            own_cautions: lists.own,
            customer_cautions: lists.for_customer,
            after: texts(&step.after),
            common_practice: false,
        }
    }
}

impl WaitForm {
    fn read(&self) -> Wait {
        Wait {
            minutes: Minutes::new(self.wait_minutes),
            when: self.when.0,
            holds: self.holds.0,
            needs_bay: self.needs_bay,
            needs_cover: self.needs_cover,
        }
    }

    fn of(wait: Wait) -> Self {
        Self {
            wait_minutes: wait.minutes.get(),
            when: Word(wait.when),
            holds: Word(wait.holds),
            needs_bay: wait.needs_bay,
            needs_cover: wait.needs_cover,
        }
    }
}

impl SetupForm {
    fn read(&self) -> Result<Setup, Refused> {
        Ok(Setup {
            area: self.area.0,
            side: self.side.0,
            zone: self.zone.as_deref().map(code).transpose()?,
            tool: self.tool.as_deref().map(code).transpose()?,
            masked: self.masked,
            cleanliness: self.cleanliness.0,
        })
    }

    fn of(setup: &Setup) -> Self {
        Self {
            area: Word(setup.area),
            side: Word(setup.side),
            zone: setup.zone.as_ref().map(ToString::to_string),
            tool: setup.tool.as_ref().map(ToString::to_string),
            masked: setup.masked,
            cleanliness: Word(setup.cleanliness),
        }
    }
}

impl DoseForm {
    fn read(&self) -> Result<Dose, Refused> {
        let basis = match self.basis.0 {
            BasisKind::Area => Basis::Area(self.units.0),
            BasisKind::Count => Basis::Count(self.units.0),
        };
        Ok(Dose { product: code(&self.product)?, basis, rate: self.rate.0, by_size: self.by_size })
    }

    fn of(dose: &Dose) -> Self {
        let basis = match dose.basis {
            Basis::Area(_) => BasisKind::Area,
            Basis::Count(_) => BasisKind::Count,
        };
        Self {
            product: dose.product.to_string(),
            basis: Word(basis),
            units: Number(dose.basis.units()),
            rate: Number(dose.rate),
            by_size: dose.by_size,
        }
    }
}
