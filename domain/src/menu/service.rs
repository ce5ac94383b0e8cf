//! Services and packages: what the customer sees and buys.

use alloc::string::String;
use alloc::vec::Vec;

use super::Code;
use crate::inspection::ConditionClass;
use crate::money::Money;
use crate::time::Minutes;
use crate::vehicle::BySize;

/// A step as a service needs it.
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

/// What the condition of the car does to a service.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ConditionRule {
    /// Whether the price is multiplied by the condition factor.
    pub priced: bool,
    /// The worst condition the service is offered for; none if any will do.
    pub at_worst: Option<ConditionClass>,
}

/// Something that the shop does to a car for a price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Service {
    /// Its code within the shop.
    pub code: Code,
    /// Name as people read it.
    pub name: String,
    /// What the customer gets, in a sentence or two.
    pub summary: String,
    /// The steps it is made of.
    pub steps: Vec<StepUse>,
    /// How it is priced.
    pub price: Price,
    /// What the condition does to it.
    pub condition: ConditionRule,
    /// Services that make no sense beside it; it is enough that one of two says so.
    pub excludes: Vec<Code>,
    /// The shop's own name for how it is taxed, such as `standard`; its rates are among the shop's settings.
    pub tax: Code,
    /// Whether customers may ask for it by themselves.
    pub online: bool,
    /// The most of it that one line of a quote may sell; a larger quantity is taken for a slip of the finger.
    pub largest_quantity: u32,
}

impl Service {
    /// The largest quantity of a service whose menu says nothing else (common practice, no source): few things on one car
    /// are counted beyond ten.
    pub const USUAL_LARGEST_QUANTITY: u32 = 10;
}

/// Services that are sold together at a price of their own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Package {
    /// Its code within the shop.
    pub code: Code,
    /// Name as people read it.
    pub name: String,
    /// What the customer gets, in a sentence or two.
    pub summary: String,
    /// The services in it.
    pub services: Vec<Code>,
    /// Its price by size class.
    pub price: BySize<Option<Money>>,
    /// Whether the price is multiplied by the condition factor.
    pub by_condition: bool,
    /// The shop's own name for how it is taxed, such as `standard`; its rates are among the shop's settings.
    pub tax: Code,
    /// Whether customers may ask for it by themselves.
    pub online: bool,
}
