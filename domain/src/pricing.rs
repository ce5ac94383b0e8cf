//! The price of a service or package for one car, with the numbers behind it.

mod build;
mod discount;
mod explained;
mod price_conversion;
mod shown;

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use crate::inspection::ConditionClass;
use crate::menu::{Code, Menu, Package, Price, Service, Step, StepUse};
use crate::money::Money;
use crate::plan::{Hands, PlanRefusal, budget, measure};
use crate::refusal::{Kind, Refusal};
use crate::time::Minutes;
use crate::vehicle::{Car, SizeClass};

pub use build::{Choice, Conflict, ConflictKind, Item, Line, Quoted, Unpriceable, build, build_converted};
pub use discount::{BadDiscount, LineDiscount, Off};
pub use explained::{Explained, ExplainedKind, Figure, replay};
pub use price_conversion::PriceConversion;
pub use shown::PriceDetail;

/// A price with its explanation and the duration of the work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Priced {
    /// The price for the car.
    pub price: Money,
    /// The numbers behind it, in order.
    pub explanation: Vec<Explained>,
    /// Budget minutes of one person for one of it, if nothing else were done to the car.
    pub minutes: Minutes,
}

/// Reason why an item has no price for a car.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PriceRefusal {
    /// A service that the menu doesn't have.
    #[error("the menu has no service {0}: choose one that is on it")]
    UnknownService(Code),
    /// A package that the menu doesn't have.
    #[error("the menu has no package {0}: choose one that is on it")]
    UnknownPackage(Code),
    /// No price for the size class.
    #[error("{name} has no price for {} {size} car: give it one on the menu", size.article())]
    NoPrice {
        /// Name of the service or package.
        name: String,
        /// The size class without a price.
        size: SizeClass,
    },
    /// The car is in worse condition than the service is offered for.
    #[error(
        "{name} is offered only for {at_worst} or better condition, but this car is {condition}: choose another service"
    )]
    TooWorn {
        /// Name of the service.
        name: String,
        /// Worst condition for which it is offered.
        at_worst: ConditionClass,
        /// The car's condition.
        condition: ConditionClass,
    },
    /// A custom item without a name, or with a negative price.
    #[error("a line of your own needs a name of 1 to 200 characters and a price of zero or more")]
    BadOwnLine,
    /// The menu itself is faulty.
    #[error("{0}")]
    Menu(#[from] PlanRefusal),
    /// The amount is beyond what a document may hold.
    #[error("the price of {0} is too large for a document: check the numbers on the menu")]
    TooLarge(String),
}

impl Refusal for PriceRefusal {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        match self {
            Self::UnknownService(_) => "unknown-service",
            Self::UnknownPackage(_) => "unknown-package",
            Self::NoPrice { .. } => "no-price-for-size",
            Self::TooWorn { .. } => "condition-too-bad",
            Self::BadOwnLine => "bad-own-line",
            Self::Menu(inner) => inner.code(),
            Self::TooLarge(_) => "price-too-large",
        }
    }
}

/// The price of a service for a car (RULES: quote price): the fixed price of its size class, or the labour of its steps
/// plus the products they use; × condition factor if the service says so; rounded up to the shop's price step. Labour
/// is charged for one person, whoever helps.
///
/// # Errors
/// [`PriceRefusal`] if the service isn't offered for such a car or the menu is faulty.
pub fn service_price(menu: &Menu, service: &Service, car: Car) -> Result<Priced, PriceRefusal> {
    if let Some(at_worst) = service.condition.at_worst.filter(|worst| car.condition > *worst) {
        return Err(PriceRefusal::TooWorn { name: service.name.clone(), at_worst, condition: car.condition });
    }
    let (mut explanation, minutes) = work(menu, service, car)?;
    if let Price::Fixed(prices) = &service.price {
        let amount = prices.get(car.size).ok_or_else(|| no_price(&service.name, car))?;
        explanation = alloc::vec![Explained::fixed(format!("Fixed price, {} car", car.size), amount)];
    }
    if service.condition.priced {
        explanation.push(Explained::condition(car.condition, *menu.factors.condition.get(car.condition)));
    }
    let price = explained::round_up(&mut explanation, menu.factors.price_step)
        .ok_or_else(|| PriceRefusal::TooLarge(service.name.clone()))?;
    Ok(Priced { price, explanation, minutes })
}

/// The price of a package for a car, and what it saves against the sum of its services. Only a price that was
/// multiplied by the condition factor is rounded up; else it is the price on the menu.
///
/// # Errors
/// [`PriceRefusal`] if it or one of its services isn't offered for such a car, or the menu is faulty.
pub fn package_price(menu: &Menu, package: &Package, car: Car) -> Result<(Priced, Saving), PriceRefusal> {
    let mut sum = Money::ZERO;
    let mut minutes = Minutes::ZERO;
    for code in &package.services {
        let service = menu.service(code).ok_or_else(|| PriceRefusal::UnknownService(code.clone()))?;
        let one = service_price(menu, service, car)?;
        sum = sum.checked_add(one.price).ok_or_else(|| PriceRefusal::TooLarge(package.name.clone()))?;
        minutes = minutes + one.minutes;
    }
    let amount = package.price.get(car.size).ok_or_else(|| no_price(&package.name, car))?;
    let mut explanation = alloc::vec![Explained::package(format!("Package price, {} car", car.size), amount)];
    let mut price = amount;
    if package.by_condition {
        explanation.push(Explained::condition(car.condition, *menu.factors.condition.get(car.condition)));
        price = explained::round_up(&mut explanation, menu.factors.price_step)
            .ok_or_else(|| PriceRefusal::TooLarge(package.name.clone()))?;
    }
    let saving = Saving { sum_of_services: sum, price };
    explanation.push(Explained::saving(sum, saving.saved()));
    Ok((Priced { price, explanation, minutes }, saving))
}

/// A package with the sum of its services.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Saving {
    /// Sum of the services' own prices.
    pub sum_of_services: Money,
    /// Price of the package.
    pub price: Money,
}

impl Saving {
    /// Amount that the customer saves; zero if the package costs more.
    pub fn saved(self) -> Money {
        (self.sum_of_services - self.price).max(Money::ZERO)
    }
}

fn no_price(name: &str, car: Car) -> PriceRefusal {
    PriceRefusal::NoPrice { name: name.into(), size: car.size }
}

/// The labour and products of a service, explained, and its budget minutes.
fn work(menu: &Menu, service: &Service, car: Car) -> Result<(Vec<Explained>, Minutes), PriceRefusal> {
    let mut labour = Vec::new();
    let mut products = Vec::new();
    let mut minutes = Minutes::ZERO;
    for StepUse { step: code, minutes: base } in &service.steps {
        let step: &Step = menu
            .step(code)
            .ok_or_else(|| PlanRefusal::UnknownStep { service: service.name.clone(), step: code.clone() })?;
        let made = budget(step, base.unwrap_or(step.minutes), &menu.factors, car, Hands::One);
        minutes = minutes + made.minutes;
        labour.push(Explained::labour(step.name.clone(), &made, menu.factors.labour_rate));
        for dose in &step.doses {
            let measured = measure(menu, step, dose, car, Decimal::ONE)?;
            let price = menu.product(&dose.product).and_then(|product| product.price);
            if let Some(price) = price {
                products.push(Explained::product(&measured, price));
            }
        }
    }
    labour.append(&mut products);
    Ok((labour, minutes))
}

/// The smallest whole multiple of `unit` that isn't below `value`, exactly: a quotient cut by the decimal's precision
/// is corrected by multiplying back.
fn ceil_to(value: Decimal, unit: Decimal) -> Option<Decimal> {
    let mut count = value.checked_div(unit)?.trunc();
    while count.checked_mul(unit)? < value {
        count = count.checked_add(Decimal::ONE)?;
    }
    while (count - Decimal::ONE).checked_mul(unit)? >= value {
        count -= Decimal::ONE;
    }
    Some(count)
}
