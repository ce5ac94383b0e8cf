//! Services as they are stored.

use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::{ConditionRule, Price, Service, StepUse};
use baywright_domain::money::Currency;
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};

use super::{SizePricesForm, code, codes, each, texts};
use crate::platform::kept::Word;
use crate::platform::refusal::Refused;

crate::words! { PriceKind => "PriceKind" }

/// Pricing of a service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PriceKind {
    /// A fixed price for each size class.
    Fixed,
    /// Budget minutes at the labour rate, plus products used.
    Built,
}

impl PriceKind {
    const ALL: &'static [Self] = &[Self::Fixed, Self::Built];

    const fn as_str(self) -> &'static str {
        match self {
            Self::Fixed => "FIXED",
            Self::Built => "BUILT",
        }
    }
}

/// Service: work on a car that the shop sells at a price.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ServiceForm {
    /// Code of the service within the shop.
    pub code: String,
    /// Name of the service as people read it.
    pub name: String,
    /// Description of what the customer gets, in a sentence or two.
    pub summary: String,
    /// Code of the tax, as in the shop's settings.
    pub tax: String,
    /// Steps that the service consists of.
    pub steps: Vec<StepUseForm>,
    /// Pricing of the service: fixed, or built from time and products.
    pub price: PriceForm,
    /// Effect of the car's condition on the service.
    pub condition: ConditionForm,
    /// Codes of services that cannot be combined with it; naming the pair in one of the two is enough.
    pub excludes: Vec<String>,
    /// Whether customers may ask for the service online.
    pub online: bool,
    /// Largest quantity that one line of a quote may have, as a guard against typing errors; 10 if left out.
    #[serde(default = "usual_largest_quantity")]
    pub largest_quantity: u32,
    /// Sort position in the list, ascending; equal positions are sorted by code.
    #[serde(rename = "place", alias = "position")]
    pub position: u32,
    /// Whether the values are still unchecked common practice from the starter menu. Leave it out once this shop has
    /// checked them.
    #[serde(default)]
    pub common_practice: bool,
}

/// Step of a service, with the base minutes that the service needs for it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StepUseForm {
    /// Code of the step.
    pub step: String,
    /// Base minutes of the step in this service; null for the step's own base minutes.
    #[serde(default)]
    pub base_minutes: Option<u32>,
}

/// Pricing of a service.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PriceForm {
    /// Kind of pricing: `FIXED`, or `BUILT` from time and products.
    pub kind: Word<PriceKind>,
    /// Fixed prices by size class; null if the price is built.
    pub amounts: Option<SizePricesForm>,
}

/// Effect of the car's condition on a service.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ConditionForm {
    /// Whether the price is multiplied by the condition factor.
    pub priced: bool,
    /// Worst condition for which the service is offered; null if it is offered for every condition.
    pub at_worst: Option<Word<ConditionClass>>,
}

fn usual_largest_quantity() -> u32 {
    Service::USUAL_LARGEST_QUANTITY
}

impl ServiceForm {
    /// The service of the rules; `at` is the position of the form.
    ///
    /// # Errors
    /// `Invalid` that points at a price that can't be read.
    pub fn read(&self, currency: Currency, at: &str) -> Result<Service, Refused> {
        let step = |used: &StepUseForm, _: &str| {
            Ok(StepUse { step: code(&used.step)?, minutes: used.base_minutes.map(Minutes::new) })
        };
        Ok(Service {
            code: code(&self.code)?,
            name: self.name.clone(),
            summary: self.summary.clone(),
            steps: each(&format!("{at}/steps"), &self.steps, step)?,
            price: self.price.read(currency, &format!("{at}/price"))?,
            condition: ConditionRule {
                priced: self.condition.priced,
                at_worst: self.condition.at_worst.map(|word| word.0),
            },
            excludes: codes(&self.excludes)?,
            tax: code(&self.tax)?,
            online: self.online,
            largest_quantity: self.largest_quantity,
        })
    }

    /// The form of a service at a position in the list.
    pub fn of(service: &Service, position: u32, currency: Currency) -> Self {
        let step =
            |used: &StepUse| StepUseForm { step: used.step.to_string(), base_minutes: used.minutes.map(Minutes::get) };
        Self {
            code: service.code.to_string(),
            name: service.name.clone(),
            summary: service.summary.clone(),
            tax: service.tax.to_string(),
            steps: service.steps.iter().map(step).collect(),
            price: PriceForm::of(&service.price, currency),
            condition: ConditionForm {
                priced: service.condition.priced,
                at_worst: service.condition.at_worst.map(Word),
            },
            excludes: texts(&service.excludes),
            online: service.online,
            largest_quantity: service.largest_quantity,
            position,
            common_practice: false,
        }
    }
}

impl PriceForm {
    fn read(&self, currency: Currency, at: &str) -> Result<Price, Refused> {
        match (self.kind.0, &self.amounts) {
            (PriceKind::Built, None) => Ok(Price::Built),
            (PriceKind::Built, Some(_)) => {
                let detail = "A price built from time and products has no fixed amounts: leave them null.";
                Err(Refused::field(format!("{at}/amounts"), "not_fixed", detail))
            }
            (PriceKind::Fixed, amounts) => {
                let amounts = amounts.clone().unwrap_or_default();
                Ok(Price::Fixed(amounts.read(currency, &format!("{at}/amounts"))?))
            }
        }
    }

    fn of(price: &Price, currency: Currency) -> Self {
        match price {
            Price::Built => Self { kind: Word(PriceKind::Built), amounts: None },
            Price::Fixed(prices) => {
                Self { kind: Word(PriceKind::Fixed), amounts: Some(SizePricesForm::of(prices, currency)) }
            }
        }
    }
}
