//! Services and packages that the customer buys.

use alloc::string::String;
use alloc::vec::Vec;

use super::Code;
use crate::inspection::ConditionClass;
use crate::money::Money;
use crate::time::Minutes;
use crate::vehicle::BySize;

/// A step of a service.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct StepUse {
    /// The step.
    pub step: Code,
    /// Base minutes if this service needs more or less of the step than usual; else the step's own.
    pub minutes: Option<Minutes>,
}

/// Pricing of a service.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Price {
    /// By size class; a class without a price isn't offered, which [`Menu::faults`](super::Menu::faults) reports.
    Fixed(BySize<Option<Money>>),
    /// Budget minutes at the labour rate, plus products used.
    Built,
}

/// Effect of the car's condition on a service.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ConditionRule {
    /// Whether the price is multiplied by the condition factor.
    pub priced: bool,
    /// Worst condition for which the service is offered; `None` if it is offered for every condition.
    pub at_worst: Option<ConditionClass>,
}

/// Work on a car that the shop sells at a price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Service {
    /// Its code within the shop.
    pub code: Code,
    /// Name as people read it.
    pub name: String,
    /// Description of what the customer gets, in a sentence or two.
    pub summary: String,
    /// Steps that it consists of.
    pub steps: Vec<StepUse>,
    /// Pricing of the service.
    pub price: Price,
    /// Effect of the condition on the service.
    pub condition: ConditionRule,
    /// Services that can't be combined with it; it is enough that one of the two says so.
    pub excludes: Vec<Code>,
    /// Code of its tax, such as `standard`; the rates are in the shop's settings.
    pub tax: Code,
    /// Whether customers may ask for it by themselves.
    pub online: bool,
    /// Maximum quantity on one line of a quote; a larger one counts as a typing error.
    pub largest_quantity: u32,
}

impl Service {
    /// Default of a service's maximum quantity (common practice, no source): few things on one car are counted beyond
    /// ten.
    pub const USUAL_LARGEST_QUANTITY: u32 = 10;
}

/// Services that are sold together at a price of their own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Package {
    /// Its code within the shop.
    pub code: Code,
    /// Name as people read it.
    pub name: String,
    /// Description of what the customer gets, in a sentence or two.
    pub summary: String,
    /// The services in it.
    pub services: Vec<Code>,
    /// Its price by size class.
    pub price: BySize<Option<Money>>,
    /// Whether the price is multiplied by the condition factor.
    pub by_condition: bool,
    /// Code of its tax, such as `standard`; the rates are in the shop's settings.
    pub tax: Code,
    /// Whether customers may ask for it by themselves.
    pub online: bool,
}
