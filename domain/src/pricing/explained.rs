//! The numbers behind a price, in order, so that owner and customer can follow it.

use alloc::string::String;
use alloc::vec::Vec;

use rust_decimal::Decimal;

use super::{PriceConversion, ceil_to};
use crate::document::Prices;
use crate::inspection::ConditionClass;
use crate::menu::Unit;
use crate::money::Money;
use crate::plan::{Budget, Measured};
use crate::tax::Rate;
use crate::time::Minutes;
use crate::word::words;

words! {
    /// Effect of a row of an explanation on the price.
    pub enum ExplainedKind("kind of explanation") {
        /// Begins with a fixed price.
        Fixed = "FIXED" "fixed price",
        /// Begins with the price of a package.
        Package = "PACKAGE" "package price",
        /// Begins with the price of a custom item. The word is in the digests of documents that were sent, so it stays.
        Custom = "TYPED" "price as agreed",
        /// Adds minutes at the labour rate.
        Labour = "LABOUR" "labour",
        /// Adds an amount of a product.
        Product = "PRODUCT" "product",
        /// Names the size class of the price; changes nothing.
        Size = "SIZE" "size",
        /// Multiplies by the condition factor; without one it names the condition of the price.
        Condition = "CONDITION" "condition",
        /// Rounds up to the price step.
        RoundedUp = "ROUNDED_UP" "rounded up",
        /// Names the saving of a package; changes nothing.
        Saving = "SAVING" "saving",
        /// Adds tax to the menu's price, if the quote's prices include it.
        TaxAdded = "TAX_ADDED" "tax added",
        /// Removes tax from the menu's price, if the quote's prices exclude it.
        TaxTakenOut = "TAX_TAKEN_OUT" "tax taken out",
        /// Multiplies by the quantity, rounded to the minor unit.
        Quantity = "QUANTITY" "quantity",
        /// Deducts a discount.
        Discount = "DISCOUNT" "discount",
    }
}

/// One named number of an explanation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    /// Minutes on a medium car in fair condition.
    BaseMinutes(Minutes),
    /// Size factor of the minutes.
    SizeFactor(Decimal),
    /// Condition factor, of the minutes or of the price.
    ConditionFactor(Decimal),
    /// Budget minutes.
    Minutes(Minutes),
    /// Price of an hour.
    PerHour(Money),
    /// Amount of a product as bought, or a quantity.
    Quantity(Decimal),
    /// Number of units of the product the price is for.
    PricedBy(Decimal),
    /// Price of the base quantity.
    UnitPrice(Money),
    /// The price step.
    Step(Money),
    /// A percentage.
    Percent(Decimal),
    /// Amount that the row adds or deducts, or the resulting price; fractions of a minor unit are shown rounded.
    Amount(Money),
}

impl Figure {
    /// The number's word for programs, in `UPPER_SNAKE`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::BaseMinutes(_) => "BASE_MINUTES",
            Self::SizeFactor(_) => "SIZE_FACTOR",
            Self::ConditionFactor(_) => "CONDITION_FACTOR",
            Self::Minutes(_) => "MINUTES",
            Self::PerHour(_) => "PER_HOUR",
            Self::Quantity(_) => "QUANTITY",
            Self::PricedBy(_) => "PRICED_BY",
            Self::UnitPrice(_) => "UNIT_PRICE",
            Self::Step(_) => "STEP",
            Self::Percent(_) => "PERCENT",
            Self::Amount(_) => "AMOUNT",
        }
    }
}

/// One row of an explanation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Explained {
    /// Effect on the price.
    pub kind: ExplainedKind,
    /// Label for people: the step, the product, the reason.
    pub label: String,
    /// Unit of the product; `None` if the row is about no product.
    pub unit: Option<Unit>,
    /// Its numbers, in the order in which they are multiplied or shown.
    pub figures: Vec<Figure>,
}

impl Explained {
    fn new(kind: ExplainedKind, label: impl Into<String>, figures: Vec<Figure>) -> Self {
        Self { kind, label: label.into(), unit: None, figures }
    }

    pub(super) fn said(kind: ExplainedKind, label: String) -> Self {
        Self::new(kind, label, Vec::new())
    }

    pub(super) fn fixed(label: String, amount: Money) -> Self {
        Self::new(ExplainedKind::Fixed, label, alloc::vec![Figure::Amount(amount)])
    }

    pub(super) fn package(label: String, amount: Money) -> Self {
        Self::new(ExplainedKind::Package, label, alloc::vec![Figure::Amount(amount)])
    }

    pub(super) fn custom(label: String, amount: Money) -> Self {
        Self::new(ExplainedKind::Custom, label, alloc::vec![Figure::Amount(amount)])
    }

    pub(super) fn labour(step: String, budget: &Budget, rate: Money) -> Self {
        let mut figures = alloc::vec![Figure::BaseMinutes(budget.base)];
        if budget.size != Decimal::ONE {
            figures.push(Figure::SizeFactor(budget.size));
        }
        if budget.condition != Decimal::ONE {
            figures.push(Figure::ConditionFactor(budget.condition));
        }
        figures.extend([Figure::Minutes(budget.minutes), Figure::PerHour(rate)]);
        Self::new(ExplainedKind::Labour, step, figures).with_amount()
    }

    pub(super) fn product(measured: &Measured, price: Money) -> Self {
        let figures = alloc::vec![
            Figure::Quantity(measured.bought()),
            Figure::UnitPrice(price),
            Figure::PricedBy(measured.unit.priced_by()),
        ];
        let row = Self::new(ExplainedKind::Product, measured.name.clone(), figures);
        Self { unit: Some(measured.unit), ..row }.with_amount()
    }

    pub(super) fn condition(class: ConditionClass, factor: Decimal) -> Self {
        let label = alloc::format!("Condition: {class}");
        Self::new(ExplainedKind::Condition, label, alloc::vec![Figure::ConditionFactor(factor)])
    }

    pub(super) fn saving(sum: Money, saved: Money) -> Self {
        let figures = alloc::vec![Figure::UnitPrice(sum), Figure::Amount(saved)];
        Self::new(ExplainedKind::Saving, "Saved against single prices", figures)
    }

    pub(super) fn converted(conversion: PriceConversion, price: Money) -> Self {
        let (kind, label) = match conversion.quote {
            Prices::Gross => (ExplainedKind::TaxAdded, "Tax added"),
            Prices::Net => (ExplainedKind::TaxTakenOut, "Tax taken out"),
        };
        Self::new(kind, label, alloc::vec![Figure::Percent(conversion.rate.decimal()), Figure::Amount(price)])
    }

    pub(super) fn quantity(quantity: Decimal, amount: Money) -> Self {
        let figures = alloc::vec![Figure::Quantity(quantity), Figure::Amount(amount)];
        Self::new(ExplainedKind::Quantity, "Quantity", figures)
    }

    pub(super) fn discount(reason: &str, percent: Option<Decimal>, taken: Money) -> Self {
        let figures = percent.map(Figure::Percent).into_iter().chain([Figure::Amount(taken)]).collect();
        Self::new(ExplainedKind::Discount, reason, figures)
    }

    /// Adds what the row adds to the price, shown to the minor unit.
    fn with_amount(mut self) -> Self {
        let shown = self.sixtieths().and_then(|exact| Money::round(exact / Decimal::from(60)).ok());
        self.figures.extend(shown.map(Figure::Amount));
        self
    }

    fn find<T>(&self, pick: impl Fn(Figure) -> Option<T>) -> Option<T> {
        self.figures.iter().find_map(|figure| pick(*figure))
    }

    fn amount(&self) -> Option<Money> {
        self.find(|figure| if let Figure::Amount(amount) = figure { Some(amount) } else { None })
    }

    fn quantity_figure(&self) -> Option<Decimal> {
        self.find(|figure| if let Figure::Quantity(quantity) = figure { Some(quantity) } else { None })
    }

    /// The amount that the row adds, exactly, in sixtieths of a minor unit: minutes at an hourly rate are whole in
    /// these.
    fn sixtieths(&self) -> Option<Decimal> {
        let sixty = Decimal::from(60);
        match self.kind {
            ExplainedKind::Labour => {
                let minutes = self.find(|figure| if let Figure::Minutes(m) = figure { Some(m) } else { None })?;
                let rate = self.find(|figure| if let Figure::PerHour(rate) = figure { Some(rate) } else { None })?;
                Decimal::from(minutes.get()).checked_mul(rate.decimal())
            }
            ExplainedKind::Product => {
                let by = self.find(|figure| if let Figure::PricedBy(by) = figure { Some(by) } else { None })?;
                let price =
                    self.find(|figure| if let Figure::UnitPrice(price) = figure { Some(price) } else { None })?;
                self.quantity_figure()?.checked_mul(price.decimal())?.checked_mul(sixty)?.checked_div(by)
            }
            ExplainedKind::Fixed | ExplainedKind::Package | ExplainedKind::Custom => {
                self.amount()?.decimal().checked_mul(sixty)
            }
            _ => None,
        }
    }
}

/// The exact price that the rows lead to, in sixtieths of a minor unit.
fn exact(rows: &[Explained]) -> Option<Decimal> {
    let sixty = Decimal::from(60);
    let mut price = Decimal::ZERO;
    for row in rows {
        price = match row.kind {
            ExplainedKind::Condition => {
                let factor = row.find(|f| if let Figure::ConditionFactor(factor) = f { Some(factor) } else { None })?;
                price.checked_mul(factor)?
            }
            ExplainedKind::RoundedUp => {
                let step = row.find(|figure| if let Figure::Step(step) = figure { Some(step) } else { None })?;
                let unit = step.decimal().checked_mul(sixty)?;
                ceil_to(price, unit)?.checked_mul(unit)?
            }
            ExplainedKind::Saving | ExplainedKind::Size => price,
            ExplainedKind::TaxAdded => converted(row, price, Prices::Net, Prices::Gross)?,
            ExplainedKind::TaxTakenOut => converted(row, price, Prices::Gross, Prices::Net)?,
            ExplainedKind::Quantity => {
                let product = (price / sixty).checked_mul(row.quantity_figure()?)?;
                Money::round(product).ok()?.decimal().checked_mul(sixty)?
            }
            ExplainedKind::Discount => price.checked_sub(row.amount()?.decimal().checked_mul(sixty)?)?,
            _ => price.checked_add(row.sixtieths()?)?,
        };
    }
    Some(price)
}

/// A price after tax was added or removed, both in sixtieths of a minor unit.
fn converted(row: &Explained, sixtieths: Decimal, menu: Prices, quote: Prices) -> Option<Decimal> {
    let sixty = Decimal::from(60);
    let percent = row.find(|figure| if let Figure::Percent(percent) = figure { Some(percent) } else { None })?;
    let conversion = PriceConversion { menu, quote, rate: Rate::new(percent).ok()? };
    let price = Money::round(sixtieths.checked_div(sixty)?).ok()?;
    conversion.price(price).ok()?.decimal().checked_mul(sixty)
}

/// Rounds the resulting price up to the step, and adds the row for it.
pub(super) fn round_up(rows: &mut Vec<Explained>, step: Money) -> Option<Money> {
    let (sixty, step_minor) = (Decimal::from(60), step.decimal());
    if step <= Money::ZERO {
        return None;
    }
    let price = Money::round(ceil_to(exact(rows)?, step_minor.checked_mul(sixty)?)?.checked_mul(step_minor)?).ok()?;
    let figures = alloc::vec![Figure::Step(step), Figure::Amount(price)];
    rows.push(Explained::new(ExplainedKind::RoundedUp, "Rounded up", figures));
    Some(price)
}

/// Follows an explanation as a reader would and returns the price that its numbers lead to, or `None` if they lead to
/// none. It equals the price that the explanation belongs to.
pub fn replay(rows: &[Explained]) -> Option<Money> {
    let minor = exact(rows)?.checked_div(Decimal::from(60))?;
    Money::round(minor).ok()
}
