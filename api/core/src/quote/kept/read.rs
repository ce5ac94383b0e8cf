//! Conversion of the frozen document into the rules' own values.

use baywright_domain::document::{Discount, DiscountSize};
use baywright_domain::id::InspectionId;
use baywright_domain::invoice::DepositSize;
use baywright_domain::menu::Code;
use baywright_domain::money::{Currency, Money, Percent};
use baywright_domain::plan::ServiceUnits;
use baywright_domain::pricing::{Conflict, Item, Line};
use baywright_domain::quote::Terms;
use baywright_domain::tax::{Category, Profile, Rate, Treatment};
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::Car;

use super::{LineKind, QuoteDeposit, QuoteDiscount, QuoteDocument, QuoteLine};
use crate::platform::fail::DbError;
use crate::platform::kept::{Amount, AmountOrPercent, Number};

/// The offer in a frozen document, for the rules. A line's explanation stays in the document: no rule reads it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offered {
    /// The lines, each with its tax.
    pub lines: Vec<(Line, Treatment)>,
    /// Pairs of lines that exclude each other.
    pub conflicts: Vec<Conflict>,
    /// Terms for all of them.
    pub terms: Terms,
}

impl Offered {
    /// The lines without their tax.
    pub fn plain_lines(&self) -> Vec<Line> {
        self.lines.iter().map(|(line, _)| line.clone()).collect()
    }

    /// The services of the lines at those places, each once with its quantity, in order.
    pub fn services(&self, taken: &[usize]) -> Vec<ServiceUnits> {
        let lines = taken.iter().filter_map(|at| self.lines.get(*at));
        ServiceUnits::sum(lines.flat_map(|(line, _)| line.units()))
    }
}

fn corrupt(what: impl std::fmt::Display) -> DbError {
    DbError::Corrupt(format!("a frozen quote: {what}"))
}

fn money(amount: &Amount, currency: Currency) -> Result<Money, DbError> {
    amount.money(currency).map_err(corrupt)
}

fn percent(number: Number) -> Result<Percent, DbError> {
    Percent::new(number.0).map_err(corrupt)
}

impl QuoteDocument {
    /// Reads the stored text.
    ///
    /// # Errors
    /// If the text was not written by this program.
    pub fn parse(text: &str) -> Result<Self, DbError> {
        serde_json::from_str(text).map_err(corrupt)
    }

    /// The currency of its amounts.
    ///
    /// # Errors
    /// If it is none.
    pub fn currency(&self) -> Result<Currency, DbError> {
        Currency::of(&self.studio.currency).ok_or_else(|| corrupt(&self.studio.currency))
    }

    /// The car that prices and budgets are for.
    pub fn car(&self) -> Car {
        Car { size: self.vehicle.size.0, condition: self.condition.0, powertrain: self.vehicle.powertrain.0 }
    }

    /// The inspection that it was made from.
    pub fn inspection_id(&self) -> Option<InspectionId> {
        self.inspection.as_ref().map(|inspection| InspectionId::new(inspection.id.as_str()))
    }

    /// Its offer, for the rules.
    ///
    /// # Errors
    /// If it contains something that this program can't have written.
    pub fn offered(&self) -> Result<Offered, DbError> {
        let currency = self.currency()?;
        let lines = self.lines.iter().map(|line| read_line(line, currency)).collect::<Result<_, _>>()?;
        let place = |at: u32| usize::try_from(at).unwrap_or(usize::MAX);
        let conflicts = self.conflicts.iter();
        let conflicts = conflicts.map(|c| Conflict { one: place(c.one), other: place(c.other), kind: c.kind.0 });
        let discounts = self.discounts.iter().map(|discount| discount.read(currency)).collect::<Result<_, _>>()?;
        let deposit = self.deposit.as_ref().map(|deposit| deposit.read(currency)).transpose()?;
        let profile = Profile { basis: self.tax_rounding.basis.0, rounding: self.tax_rounding.rounding.0 };
        let terms = Terms { currency, prices: self.prices.0, profile, discounts, deposit };
        Ok(Offered { lines, conflicts: conflicts.collect(), terms })
    }
}

impl QuoteDiscount {
    fn read(&self, currency: Currency) -> Result<Discount, DbError> {
        let size = match &self.size {
            AmountOrPercent::Amount(amount) => DiscountSize::Amount(money(amount, currency)?),
            AmountOrPercent::Percent(number) => DiscountSize::Percent(percent(*number)?),
        };
        Ok(Discount { size, reason: self.reason.clone() })
    }
}

impl QuoteDeposit {
    fn read(&self, currency: Currency) -> Result<DepositSize, DbError> {
        Ok(match &self.size {
            AmountOrPercent::Amount(amount) => DepositSize::Amount(money(amount, currency)?),
            AmountOrPercent::Percent(number) => DepositSize::Percent(percent(*number)?),
        })
    }
}

fn read_line(line: &QuoteLine, currency: Currency) -> Result<(Line, Treatment), DbError> {
    let code = |text: &str| Code::parse(text).map_err(corrupt);
    let unit_price = money(&line.unit_price, currency)?;
    let item = match (line.kind.0, &line.code) {
        (LineKind::Service, Some(text)) => Item::Service(code(text)?),
        (LineKind::Package, Some(text)) => Item::Package(code(text)?),
        (LineKind::Custom, _) => Item::Custom { name: line.name.clone(), price: unit_price },
        _ => return Err(corrupt("a service or package has a code")),
    };
    let category = Category::of(&line.tax.category).ok_or_else(|| corrupt(&line.tax.category))?;
    let treatment = Treatment::new(category, percent(line.tax.rate)? as Rate).map_err(corrupt)?;
    let read = Line {
        item,
        name: line.name.clone(),
        services: line.services.iter().map(|text| code(text)).collect::<Result<_, _>>()?,
        quantity: line.quantity.0,
        unit_price,
        discount: money(&line.discount, currency)?,
        discount_reason: line.discount_reason.clone(),
        amount: money(&line.amount, currency)?,
        minutes: Minutes::new(line.minutes),
        required: line.required,
        explanation: Vec::new(),
    };
    Ok((read, treatment))
}
