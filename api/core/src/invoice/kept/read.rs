//! Conversion of the stored document into the rules' own values.

use baywright_domain::document::{Adjustment, Discount, DiscountSize, Document, Line};
use baywright_domain::money::{Currency, Money, Percent};
use baywright_domain::tax::{Category, Profile, Treatment};

use super::{InvoiceAllowance, InvoiceDocument, InvoiceLine};
use crate::platform::fail::DbError;
use crate::platform::kept::{Amount, Number};

fn corrupt(what: impl std::fmt::Display) -> DbError {
    DbError::Corrupt(format!("an invoice's document: {what}"))
}

fn money(amount: &Amount, currency: Currency) -> Result<Money, DbError> {
    amount.money(currency).map_err(corrupt)
}

fn treatment(category: &str, rate: Number) -> Result<Treatment, DbError> {
    let category = Category::of(category).ok_or_else(|| corrupt(category))?;
    Treatment::new(category, Percent::new(rate.0).map_err(corrupt)?).map_err(corrupt)
}

impl InvoiceDocument {
    /// Reads the stored text.
    ///
    /// # Errors
    /// If the text was not written by this program.
    pub fn parse(text: &str) -> Result<Self, DbError> {
        serde_json::from_str(text).map_err(corrupt)
    }

    /// The document for the rules, which compute the totals from it.
    ///
    /// # Errors
    /// If it contains something that this program can't have written.
    pub fn rules(&self, currency: Currency) -> Result<Document, DbError> {
        let lines = self.lines.iter().map(|line| read_line(line, currency)).collect::<Result<_, _>>()?;
        let profile = Profile { basis: self.tax_basis.0, rounding: self.tax_rounding.0 };
        let mut document = Document::new(currency, self.prices.0, profile, lines);
        document.allowances =
            self.allowances.iter().map(|item| adjustment(item, currency)).collect::<Result<_, _>>()?;
        document.charges = self.charges.iter().map(|item| adjustment(item, currency)).collect::<Result<_, _>>()?;
        if let Some(rounding) = &self.own_rounding {
            document.rounding = money(rounding, currency)?;
        }
        document.prepaid = money(&self.totals.prepaid, currency)?;
        Ok(document)
    }
}

fn adjustment(item: &InvoiceAllowance, currency: Currency) -> Result<Adjustment, DbError> {
    let treatment = treatment(&item.tax_category, item.tax_rate)?;
    Ok(Adjustment { amount: money(&item.amount, currency)?, treatment, reason: item.reason.clone() })
}

fn read_line(line: &InvoiceLine, currency: Currency) -> Result<Line, DbError> {
    let treatment = treatment(&line.tax_category, line.tax_rate)?;
    let mut read = Line::new(line.quantity.0, line.unit_price.0, treatment);
    let discount = money(&line.discount, currency)?;
    if let (false, Some(reason)) = (discount.is_zero(), &line.discount_reason) {
        read.discount = Some(Discount { size: DiscountSize::Amount(discount), reason: reason.clone() });
    }
    Ok(read)
}
