//! Making the lines of a quote from chosen services.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

use rust_decimal::Decimal;

use super::{Explained, LineDiscount, Off, PriceConversion, PriceRefusal, Priced, package_price, service_price};
use crate::menu::{Code, Menu};
use crate::money::Money;
use crate::plan::{ServiceUnits, attended_minutes};
use crate::refusal::{Fault, Kind, Refusal, told};
use crate::time::Minutes;
use crate::vehicle::Car;

/// Kind of a line of a quote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Item {
    /// A service of the menu.
    Service(Code),
    /// A package of the menu.
    Package(Code),
    /// A custom item, which isn't on the menu and has its own price; it has no steps.
    Custom {
        /// Name of the item, as the customer reads it.
        name: String,
        /// Price of one.
        price: Money,
    },
}

/// One item chosen for a quote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Kind of item: from the menu or custom.
    pub item: Item,
    /// Quantity; mostly one for services.
    pub quantity: Decimal,
    /// A discount on the line.
    pub discount: Option<LineDiscount>,
    /// Whether the line is required; else the customer may choose it.
    pub required: bool,
}

/// A line of a quote. Its explanation leads to its amount.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Item of the line: from the menu or custom.
    pub item: Item,
    /// Name of the item, as the customer reads it.
    pub name: String,
    /// The services that its work is planned from.
    pub services: Vec<Code>,
    /// Quantity of the item.
    pub quantity: Decimal,
    /// The price of one.
    pub unit_price: Money,
    /// Amount of the line's discount.
    pub discount: Money,
    /// Reason why the discount is given.
    pub discount_reason: Option<String>,
    /// Quantity × unit price − discount.
    pub amount: Money,
    /// Budget minutes of one person for all of the quantity, if nothing else were done to the car.
    pub minutes: Minutes,
    /// Whether the line is required.
    pub required: bool,
    /// The numbers behind the amount, in order.
    pub explanation: Vec<Explained>,
}

impl Line {
    /// The services that its work is planned from, each in the quantity of the line.
    pub fn units(&self) -> impl Iterator<Item = ServiceUnits> {
        self.services.iter().map(|code| ServiceUnits { service: code.clone(), quantity: self.quantity })
    }
}

/// Reason why two lines of a quote exclude each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ConflictKind {
    /// Their services exclude each other.
    Excluded,
    /// They share a service, which would be charged twice.
    Overlap,
}

/// Two lines that exclude each other, by index; the first is the smaller.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Conflict {
    /// The earlier line.
    pub one: usize,
    /// The later line.
    pub other: usize,
    /// Reason for the conflict.
    pub kind: ConflictKind,
}

/// The lines of a quote, and the optional ones that exclude each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quoted {
    /// The lines, in the order of the choices.
    pub lines: Vec<Line>,
    /// Pairs of optional lines of which the customer may take one.
    pub conflicts: Vec<Conflict>,
}

/// All faults that prevent choices from becoming lines.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the quote can't be priced: {}", told(faults))]
pub struct Unpriceable {
    /// The faults, with pointers such as `/lines/2/quantity`.
    pub faults: Vec<Fault>,
}

impl Refusal for Unpriceable {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "quote-not-priceable"
    }

    fn faults(&self) -> Vec<Fault> {
        self.faults.clone()
    }
}

/// Prices every choice for a car, in the menu's own prices.
///
/// # Errors
/// As [`build_converted`].
pub fn build(menu: &Menu, car: Car, choices: &[Choice]) -> Result<Quoted, Unpriceable> {
    build_converted(menu, car, choices, |_| None)
}

/// Prices every choice for a car in the quote's prices: `conversion` says for each line how the menu's price is
/// converted. Prices of custom items, and discounts of an amount, are already in the quote's prices.
///
/// # Errors
/// [`Unpriceable`] with all faults: no choice at all, a price that can't be made, a quantity or discount out of range,
/// or a line that could never be taken because it conflicts with a required one.
pub fn build_converted(
    menu: &Menu,
    car: Car,
    choices: &[Choice],
    conversion: impl Fn(usize) -> Option<PriceConversion>,
) -> Result<Quoted, Unpriceable> {
    let mut faults = Vec::new();
    if choices.is_empty() {
        faults.push(fault("/lines".into(), "missing", "a quote needs at least one line"));
    }
    let mut lines = Vec::with_capacity(choices.len());
    for (at, choice) in choices.iter().enumerate() {
        match line(menu, car, choice, conversion(at)) {
            Ok(line) => lines.push(line),
            Err(Fault { pointer, code, detail }) => {
                faults.push(Fault { pointer: format!("/lines/{at}{pointer}"), code, detail });
            }
        }
    }
    if !faults.is_empty() {
        return Err(Unpriceable { faults });
    }
    let mut conflicts = Vec::new();
    for (other, later) in lines.iter().enumerate() {
        for (one, earlier) in lines[..other].iter().enumerate() {
            let Some(kind) = conflict(menu, earlier, later) else { continue };
            if earlier.required || later.required {
                let detail = match kind {
                    ConflictKind::Excluded => format!("{} and {} exclude each other", earlier.name, later.name),
                    ConflictKind::Overlap => {
                        format!("{} and {} would charge a service twice", earlier.name, later.name)
                    }
                } + ": leave one out, or make both optional";
                faults.push(fault(format!("/lines/{other}"), "conflict", detail));
            } else {
                conflicts.push(Conflict { one, other, kind });
            }
        }
    }
    if faults.is_empty() { Ok(Quoted { lines, conflicts }) } else { Err(Unpriceable { faults }) }
}

fn fault(pointer: String, code: &'static str, detail: impl Into<String>) -> Fault {
    Fault { pointer, code, detail: detail.into() }
}

fn conflict(menu: &Menu, one: &Line, other: &Line) -> Option<ConflictKind> {
    if one.services.iter().any(|code| other.services.contains(code)) {
        return Some(ConflictKind::Overlap);
    }
    let pair = |a: &Code, b: &Code| !menu.excluded_pairs(&[a.clone(), b.clone()]).is_empty();
    let excluded = one.services.iter().any(|a| other.services.iter().any(|b| pair(a, b)));
    excluded.then_some(ConflictKind::Excluded)
}

fn line(menu: &Menu, car: Car, choice: &Choice, conversion: Option<PriceConversion>) -> Result<Line, Fault> {
    let (name, services, priced) =
        item(menu, car, &choice.item).map_err(|refusal| fault("/item".into(), "no_price", refusal.to_string()))?;
    let Priced { mut price, mut explanation, .. } = priced;
    let custom = matches!(choice.item, Item::Custom { .. });
    if let Some(conversion) = conversion.filter(|conversion| conversion.converts() && !custom) {
        price = conversion.price(price).map_err(|refusal| fault("/item".into(), "too_large", refusal.to_string()))?;
        explanation.push(Explained::converted(conversion, price));
    }
    let quantity = choice.quantity.normalize();
    if quantity <= Decimal::ZERO || quantity > Decimal::ONE_THOUSAND || quantity.scale() > 3 {
        let detail = "the quantity must be above 0, at most 1,000, with at most 3 decimals";
        return Err(fault("/quantity".into(), "bad_quantity", detail));
    }
    let most = menu.largest_quantity(&services);
    if let Some(most) = most.filter(|most| quantity > Decimal::from(*most)) {
        let detail = format!(
            "the menu allows at most {most} of {name} on one quote: lower the quantity, or raise the limit on the menu"
        );
        return Err(fault("/quantity".into(), "too_many", detail));
    }
    let units: Vec<ServiceUnits> =
        services.iter().map(|code| ServiceUnits { service: code.clone(), quantity }).collect();
    let minutes = attended_minutes(menu, &units, car);
    let minutes = minutes.map_err(|refusal| fault("/item".into(), "no_price", refusal.to_string()))?;
    let full = price.decimal().checked_mul(quantity).and_then(|exact| Money::round(exact).ok());
    let full = full.ok_or_else(|| fault("/quantity".into(), "too_large", "the amount of the line is too large"))?;
    if quantity != Decimal::ONE {
        explanation.push(Explained::quantity(quantity, full));
    }
    let mut taken = Money::ZERO;
    if let Some(discount) = &choice.discount {
        let refused = |refusal: super::BadDiscount| fault("/discount".into(), "bad_discount", refusal.to_string());
        taken = discount.taken_off(full).map_err(refused)?;
        let percent = if let Off::Percent(percent) = discount.off { Some(percent) } else { None };
        explanation.push(Explained::discount(&discount.reason, percent, taken));
    }
    Ok(Line {
        item: choice.item.clone(),
        name,
        services,
        quantity,
        unit_price: price,
        discount: taken,
        discount_reason: choice.discount.as_ref().map(|discount| discount.reason.clone()),
        amount: full - taken,
        minutes,
        required: choice.required,
        explanation,
    })
}

fn item(menu: &Menu, car: Car, item: &Item) -> Result<(String, Vec<Code>, Priced), PriceRefusal> {
    match item {
        Item::Service(code) => {
            let service = menu.service(code).ok_or_else(|| PriceRefusal::UnknownService(code.clone()))?;
            Ok((service.name.clone(), alloc::vec![code.clone()], service_price(menu, service, car)?))
        }
        Item::Package(code) => {
            let package = menu.package(code).ok_or_else(|| PriceRefusal::UnknownPackage(code.clone()))?;
            let (priced, _) = package_price(menu, package, car)?;
            Ok((package.name.clone(), package.services.clone(), priced))
        }
        Item::Custom { name, price } => {
            if price.is_negative() || name.trim().is_empty() || name.chars().count() > 200 {
                return Err(PriceRefusal::BadOwnLine);
            }
            let explanation = alloc::vec![Explained::custom(name.clone(), *price)];
            Ok((name.clone(), Vec::new(), Priced { price: *price, explanation, minutes: Minutes::ZERO }))
        }
    }
}
