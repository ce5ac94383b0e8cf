//! Services in requests.

use baywright_core::menu::kept::{ConditionForm, PriceForm, ServiceForm, StepUseForm};
use baywright_core::menu::usecase::MOST_MINUTES;
use baywright_domain::menu::Service;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{SizePricesBody, all, texts};
use crate::menu::words::{ConditionWord, PriceKindWord};
use crate::platform::wire::{Code, Line, Text, at_most, whole, whole_or_null};

/// Service: work on a car that the shop sells at a price.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuService)]
#[serde(deny_unknown_fields)]
pub struct ServiceBody {
    /// Code of the service within the shop.
    #[schema(example = "machine-polish-one-step")]
    pub code: Code,
    /// Name of the service as people read it.
    #[schema(example = "One-step machine polish")]
    pub name: Line<200>,
    /// Description of what the customer gets, in a sentence or two.
    #[schema(example = "Takes out light swirls and brings back the gloss.")]
    pub summary: Text<1000>,
    /// Code of the tax, as in the shop's settings.
    #[schema(example = "standard")]
    pub tax: Code,
    /// Steps that the service consists of.
    #[serde(deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60)]
    pub steps: Vec<StepUseBody>,
    /// Pricing of the service: fixed, or built from time and products.
    pub price: ServicePriceBody,
    /// Effect of the car's condition on the service.
    pub condition: ServiceConditionBody,
    /// Codes of services that cannot be combined with it; naming the pair in one of the two is enough.
    #[serde(deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60)]
    pub excludes: Vec<Code>,
    /// Whether customers may ask for the service online.
    pub online: bool,
    /// Largest quantity that one line of a quote may have, as a guard against typing errors; 10 if left out.
    #[serde(default = "usual_largest_quantity", deserialize_with = "whole::<1, 1_000, _>")]
    #[schema(minimum = 1, maximum = 1_000, example = 10, required = false)]
    pub largest_quantity: u32,
    /// Sort position in the list, ascending; equal positions are sorted by code.
    #[serde(deserialize_with = "whole::<0, 9_999, _>")]
    #[schema(minimum = 0, maximum = 9_999, example = 10)]
    pub position: u32,
    /// Whether the values are still unchecked common practice from the starter menu. Leave it out once this shop has
    /// checked them.
    #[serde(default)]
    #[schema(required = false)]
    pub common_practice: bool,
}

/// Step of a service, with the base minutes that the service needs for it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuServiceStep)]
#[serde(deny_unknown_fields)]
pub struct StepUseBody {
    /// Code of the step.
    #[schema(example = "iron-removal")]
    pub step: Code,
    /// Base minutes of the step in this service; null for the step's own base minutes.
    #[serde(default, deserialize_with = "whole_or_null::<0, MOST_MINUTES, _>")]
    #[schema(minimum = 0, maximum = 43_200)]
    pub base_minutes: Option<u32>,
}

/// Pricing of a service.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuServicePrice)]
#[serde(deny_unknown_fields)]
pub struct ServicePriceBody {
    /// Kind of pricing: `FIXED`, or `BUILT` from time and products.
    pub kind: PriceKindWord,
    /// Fixed prices by size class; null if the price is built.
    pub amounts: Option<SizePricesBody>,
}

/// Effect of the car's condition on a service.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuServiceCondition)]
#[serde(deny_unknown_fields)]
pub struct ServiceConditionBody {
    /// Whether the price is multiplied by the condition factor.
    pub priced: bool,
    /// Worst condition for which the service is offered; null if it is offered for every condition.
    pub at_worst: Option<ConditionWord>,
}

fn usual_largest_quantity() -> u32 {
    Service::USUAL_LARGEST_QUANTITY
}

impl From<ServiceBody> for ServiceForm {
    fn from(body: ServiceBody) -> Self {
        Self {
            code: body.code.into(),
            name: body.name.into(),
            summary: body.summary.into(),
            tax: body.tax.into(),
            steps: all(body.steps),
            price: body.price.into(),
            condition: body.condition.into(),
            excludes: texts(body.excludes),
            online: body.online,
            largest_quantity: body.largest_quantity,
            position: body.position,
            common_practice: body.common_practice,
        }
    }
}

impl From<StepUseBody> for StepUseForm {
    fn from(body: StepUseBody) -> Self {
        Self { step: body.step.into(), base_minutes: body.base_minutes }
    }
}

impl From<ServicePriceBody> for PriceForm {
    fn from(body: ServicePriceBody) -> Self {
        Self { kind: body.kind.into(), amounts: body.amounts.map(Into::into) }
    }
}

impl From<ServiceConditionBody> for ConditionForm {
    fn from(body: ServiceConditionBody) -> Self {
        Self { priced: body.priced, at_worst: body.at_worst.map(Into::into) }
    }
}
