//! A line of the document: what is offered, its price, and the numbers that made it.

use baywright_domain::money::{Currency, Money};
use baywright_domain::pricing::{Conflict, Explained, Figure, Item, Line};
use baywright_domain::tax::Treatment;
use baywright_domain::time::Minutes;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::words::{ConflictWord, ExplainedWord, LineKind, LineKindWord};
use crate::menu::form::UnitWord;
use crate::platform::wire::{Amount, Number, Word};

/// One line of a quote.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteLine {
    /// What it is for.
    pub kind: LineKindWord,
    /// The code on the menu; null where the line was typed.
    #[schema(max_length = 40, example = "two-step-correction")]
    pub code: Option<String>,
    /// What it is, as the customer reads it.
    #[schema(max_length = 200, example = "Two-step correction")]
    pub name: String,
    /// What the customer gets, in a sentence or two.
    #[schema(max_length = 2000)]
    pub summary: String,
    /// The services that its work is planned from, by code.
    #[schema(max_items = 100, value_type = Vec<crate::platform::wire::Code>)]
    pub services: Vec<String>,
    /// How many.
    pub quantity: Number,
    /// The price of one.
    pub unit_price: Amount,
    /// What a discount takes off the line.
    pub discount: Amount,
    /// Why the discount is given; null where there is none.
    #[schema(max_length = 200)]
    pub discount_reason: Option<String>,
    /// Quantity × price − discount.
    pub amount: Amount,
    /// How it is taxed.
    pub tax: LineTax,
    /// Minutes of one pair of hands for all of the quantity, if nothing else were done to the vehicle, as believed when the
    /// document was made: every second job takes longer.
    #[schema(minimum = 0, maximum = 10_000_000)]
    pub minutes: u32,
    /// Whether the quote stands or falls with it; else the customer may tick it.
    pub required: bool,
    /// What the customer sees of how the amount was made, in order: all numbers, or only what the price depends on, as the
    /// shop's terms say.
    #[schema(max_items = 1000)]
    pub explanation: Vec<ExplainedRow>,
}

/// How the price of a line was made, in full: for the studio.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LineExplanation {
    /// The numbers that made the amount, in order.
    #[schema(max_items = 1000)]
    pub rows: Vec<ExplainedRow>,
}

impl LineExplanation {
    /// The whole explanation of a line.
    pub fn of(line: &Line, currency: Currency) -> Self {
        Self { rows: ExplainedRow::all(&line.explanation, currency) }
    }
}

/// How a line is taxed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LineTax {
    /// The shop's own name for it.
    #[schema(max_length = 40, example = "standard")]
    pub code: String,
    /// Category code of UNTDID 5305, as EN 16931-1 uses it.
    #[schema(min_length = 1, max_length = 2, example = "S")]
    pub category: String,
    /// Rate in percent.
    pub rate: Number,
    /// Why no tax is charged, where the category asks for a reason.
    #[schema(max_length = 500)]
    pub reason: Option<String>,
}

/// One row of an explanation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ExplainedRow {
    /// What it does to the price.
    pub kind: ExplainedWord,
    /// What it is about: the step, the product, the reason.
    #[schema(max_length = 300, example = "Machine polish")]
    pub label: String,
    /// What a product is counted in: what was used, and what its price is for. Null where the row is about no product.
    #[serde(default)]
    pub unit: Option<UnitWord>,
    /// Its numbers, in the order in which they are multiplied or shown.
    #[schema(max_items = 12)]
    pub figures: Vec<FigureRow>,
}

/// One number of an explanation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FigureRow {
    /// Which number it is, such as `MINUTES` or `PER_HOUR`.
    #[schema(max_length = 30, example = "PER_HOUR")]
    pub kind: String,
    /// The number; amounts in the currency's major unit.
    #[schema(max_length = 40, example = "60.00")]
    pub value: String,
}

/// Two optional lines of which one can be taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteConflict {
    /// Place of the earlier line, from 0.
    #[schema(minimum = 0, maximum = 1000)]
    pub one: u32,
    /// Place of the later line, from 0.
    #[schema(minimum = 0, maximum = 1000)]
    pub other: u32,
    /// Why.
    pub kind: ConflictWord,
}

impl QuoteLine {
    /// The line as it is shown, with what the menu says of it, how it is taxed, how long it takes by itself, and what the
    /// customer sees of how its price was made.
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
            Item::Typed { .. } => None,
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
    /// The treatment under the shop's own name.
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
    /// Rows as they travel.
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
    /// The pair as it is shown.
    pub fn of(conflict: &Conflict) -> Self {
        let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self { one: place(conflict.one), other: place(conflict.other), kind: Word(conflict.kind) }
    }
}
