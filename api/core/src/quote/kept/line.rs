//! A line of the document: item, price, and the numbers behind it.

use baywright_domain::menu::Unit;
use baywright_domain::money::{Currency, Money};
use baywright_domain::pricing::{Conflict, ConflictKind, Explained, ExplainedKind, Figure, Item, Line};
use baywright_domain::tax::Treatment;
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};

use super::LineKind;
use crate::platform::kept::{Amount, Number, Word};

/// Line of a quote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteLine {
    /// Kind of line: service, package or custom item (`TYPED`).
    pub kind: Word<LineKind>,
    /// Code on the menu; null for a custom item.
    pub code: Option<String>,
    /// Name of the line, as the customer reads it.
    pub name: String,
    /// Description of what the customer gets, in a sentence or two.
    pub summary: String,
    /// Codes of the services that the line's work is planned from.
    pub services: Vec<String>,
    /// Quantity of the line.
    pub quantity: Number,
    /// Price of one unit, with or before tax as `prices` says.
    pub unit_price: Amount,
    /// Discount on the line, with or before tax as `prices` says.
    pub discount: Amount,
    /// Reason for the discount; null if there is none.
    pub discount_reason: Option<String>,
    /// Amount of the line: quantity × price − discount, with or before tax as `prices` says.
    pub amount: Amount,
    /// Tax on the line.
    pub tax: LineTax,
    /// Expected working time of one person for the whole quantity, in minutes, if nothing else were done to the
    /// vehicle, as of making the document: half of all jobs take longer.
    pub minutes: u32,
    /// Whether the line is required; else the customer may choose it.
    pub required: bool,
    /// Explanation of the amount for the customer, in order: all numbers, or only those that the price depends on, as
    /// the shop's terms say.
    pub explanation: Vec<ExplainedRow>,
}

/// Full explanation of a line's price, for the studio.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineExplanation {
    /// Numbers behind the amount, in order.
    pub rows: Vec<ExplainedRow>,
}

impl LineExplanation {
    /// The whole explanation of a line.
    pub fn of(line: &Line, currency: Currency) -> Self {
        Self { rows: ExplainedRow::all(&line.explanation, currency) }
    }
}

/// Tax on a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LineTax {
    /// Code of the tax, as in the shop's settings.
    pub code: String,
    /// Tax category code of UNTDID 5305, as EN 16931-1 uses it.
    pub category: String,
    /// Tax rate in percent.
    pub rate: Number,
    /// Reason for charging no tax, if the category needs one; else null.
    pub reason: Option<String>,
}

/// Row of a price explanation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExplainedRow {
    /// Effect of the row on the price, such as labour, a factor or a discount.
    pub kind: Word<ExplainedKind>,
    /// Label of the row as people read it: the step, the product or the reason.
    pub label: String,
    /// Unit of the product, for its amount and its price; null if the row is not about a product, and in documents of
    /// form 1, which did not name it.
    #[serde(default)]
    pub unit: Option<Word<Unit>>,
    /// Numbers of the row, in the order in which they are multiplied or displayed.
    pub figures: Vec<FigureRow>,
}

/// Number in a price explanation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FigureRow {
    /// Meaning of the number, such as `MINUTES` or `PER_HOUR`.
    pub kind: String,
    /// Value of the number; amounts are in the currency's major unit.
    pub value: String,
}

/// Two optional lines that exclude each other.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteConflict {
    /// Index of the earlier line, from 0.
    pub one: u32,
    /// Index of the later line, from 0.
    pub other: u32,
    /// Reason for the conflict: the services exclude each other (`EXCLUDED`), or share a service that would be charged
    /// twice (`OVERLAP`).
    pub kind: Word<ConflictKind>,
}

impl QuoteLine {
    /// The line for the document, with the menu's description, its tax, its duration by itself, and the part of the
    /// price explanation that the customer sees.
    pub fn of(
        line: &Line,
        summary: &str,
        tax: LineTax,
        minutes: Minutes,
        explanation: Vec<ExplainedRow>,
        currency: Currency,
    ) -> Self {
        let code = match &line.item {
            Item::Service(code) | Item::Package(code) => Some(code.to_string()),
            Item::Custom { .. } => None,
        };
        Self {
            kind: Word(LineKind::from(&line.item)),
            code,
            name: line.name.clone(),
            summary: summary.to_owned(),
            services: line.services.iter().map(ToString::to_string).collect(),
            quantity: Number(line.quantity),
            unit_price: Amount::of(line.unit_price, currency),
            discount: Amount::of(line.discount, currency),
            discount_reason: line.discount_reason.clone(),
            amount: Amount::of(line.amount, currency),
            tax,
            minutes: minutes.get(),
            required: line.required,
            explanation,
        }
    }
}

impl LineTax {
    /// The treatment under the shop's own name for it.
    pub fn of(code: &str, treatment: Treatment, reason: Option<String>) -> Self {
        Self {
            code: code.to_owned(),
            category: treatment.category().code().to_owned(),
            rate: Number(treatment.rate().decimal()),
            reason,
        }
    }
}

impl ExplainedRow {
    /// Rows of the rules.
    pub fn all(rows: &[Explained], currency: Currency) -> Vec<Self> {
        rows.iter().map(|row| Self::of(row, currency)).collect()
    }

    fn of(row: &Explained, currency: Currency) -> Self {
        let figures = row
            .figures
            .iter()
            .map(|figure| FigureRow { kind: figure.as_str().to_owned(), value: value(*figure, currency) });
        Self { kind: Word(row.kind), label: row.label.clone(), unit: row.unit.map(Word), figures: figures.collect() }
    }
}

fn value(figure: Figure, currency: Currency) -> String {
    let money = |amount: Money| amount.to_major(currency);
    match figure {
        Figure::BaseMinutes(minutes) | Figure::Minutes(minutes) => minutes.get().to_string(),
        Figure::SizeFactor(number)
        | Figure::ConditionFactor(number)
        | Figure::Quantity(number)
        | Figure::PricedBy(number)
        | Figure::Percent(number) => number.normalize().to_string(),
        Figure::PerHour(amount) | Figure::UnitPrice(amount) | Figure::Step(amount) | Figure::Amount(amount) => {
            money(amount)
        }
    }
}

impl QuoteConflict {
    /// The pair for the document.
    pub fn of(conflict: &Conflict) -> Self {
        let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self { one: place(conflict.one), other: place(conflict.other), kind: Word(conflict.kind) }
    }
}
