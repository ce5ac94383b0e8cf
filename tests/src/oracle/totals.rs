//! `totals`: the sums of a document.

use baywright_domain::document::{Adjustment, Document, Line, Prices};
use baywright_domain::money::{Currency, Money};
use baywright_domain::tax::{Category, Profile, Treatment};
use serde::{Deserialize, Serialize};

use super::Answer;
use super::read::{at, decimal, money, percent};

/// A document, as a case writes it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    currency: String,
    prices: WirePrices,
    lines: Vec<WireLine>,
    #[serde(default)]
    allowances: Vec<WireAdjustment>,
    #[serde(default)]
    charges: Vec<WireAdjustment>,
    prepaid: Option<String>,
    rounding: Option<String>,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "snake_case")]
enum WirePrices {
    Net,
    Gross,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WireLine {
    quantity: String,
    price: String,
    base_quantity: Option<String>,
    allowance: Option<String>,
    charge: Option<String>,
    category: String,
    rate: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WireAdjustment {
    amount: String,
    category: String,
    rate: String,
}

/// The sums, every amount in the currency's major unit.
#[derive(Serialize)]
pub struct Sums {
    line_nets: Vec<String>,
    sum_of_lines: String,
    allowances: String,
    charges: String,
    net: String,
    taxes: Vec<WireTax>,
    tax: String,
    gross: String,
    rounding: String,
    prepaid: String,
    payable: String,
}

#[derive(Serialize)]
struct WireTax {
    category: &'static str,
    rate: String,
    taxable: String,
    tax: String,
}

/// Sums the document up.
pub fn answer(case: Case) -> Answer<Sums> {
    let currency = Currency::of(&case.currency).ok_or_else(|| format!("currency: {:?} is not known", case.currency))?;
    let document = document(&case, currency)?;
    let totals = document.totals().map_err(|refusal| refusal.to_string())?;
    let text = |amount: Money| amount.to_major(currency);
    Ok(Sums {
        line_nets: totals.lines.iter().map(|line| text(line.net)).collect(),
        sum_of_lines: text(totals.sum_of_lines),
        allowances: text(totals.allowances),
        charges: text(totals.charges),
        net: text(totals.net),
        taxes: totals
            .taxes
            .iter()
            .map(|row| WireTax {
                category: row.treatment.category().code(),
                rate: row.treatment.rate().to_string(),
                taxable: text(row.taxable),
                tax: text(row.tax),
            })
            .collect(),
        tax: text(totals.tax),
        gross: text(totals.gross),
        rounding: text(totals.rounding),
        prepaid: text(totals.prepaid),
        payable: text(totals.payable),
    })
}

fn document(case: &Case, currency: Currency) -> Answer<Document> {
    let prices = match case.prices {
        WirePrices::Net => Prices::Net,
        WirePrices::Gross => Prices::Gross,
    };
    let lines = case.lines.iter().map(|line| read_line(line, currency)).collect::<Answer<_>>()?;
    let adjustments = |all: &[WireAdjustment]| all.iter().map(|one| adjustment(one, currency)).collect::<Answer<_>>();
    Ok(Document {
        allowances: adjustments(&case.allowances)?,
        charges: adjustments(&case.charges)?,
        prepaid: money(case.prepaid.as_deref(), currency, "prepaid")?,
        rounding: money(case.rounding.as_deref(), currency, "rounding")?,
        ..Document::new(currency, prices, Profile::EN_16931, lines)
    })
}

fn read_line(line: &WireLine, currency: Currency) -> Answer<Line> {
    Ok(Line {
        base_quantity: decimal(line.base_quantity.as_deref().unwrap_or("1"), "base_quantity")?,
        allowance: money(line.allowance.as_deref(), currency, "allowance")?,
        charge: money(line.charge.as_deref(), currency, "charge")?,
        ..Line::new(
            decimal(&line.quantity, "quantity")?,
            decimal(&line.price, "price")?,
            treatment(&line.category, &line.rate)?,
        )
    })
}

fn adjustment(one: &WireAdjustment, currency: Currency) -> Answer<Adjustment> {
    Ok(Adjustment {
        amount: money(Some(&one.amount), currency, "amount")?,
        treatment: treatment(&one.category, &one.rate)?,
        reason: None,
    })
}

fn treatment(category: &str, rate: &str) -> Answer<Treatment> {
    let category = Category::of(category).ok_or_else(|| format!("category: {category:?} is not known"))?;
    Treatment::new(category, percent(rate, "rate")?).map_err(at("category"))
}
