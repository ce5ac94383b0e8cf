//! Prices of a choice: the desk's preview.

use actix_web::post;
use baywright_core::menu::usecase::{self, Ask, Preview, Source};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Desk;
use baywright_domain::menu;
use baywright_domain::money::Currency;
use baywright_domain::pricing::{Explained, ExplainedKind, Figure, Item, Line as PricedLine};
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::Car;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::words::{ConditionWord, PowertrainWord, PricesWord, SizeWord, UnitWord};
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::wire::{Amount, Code, Line, Number, Text, Word, at_most};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(price);
}

baywright_core::words! { ItemKind => "MenuItemKind" }

// The API document's derive reads a plain name better than one with parameters.
/// A word for [`Source`].
pub type SourceWord = Word<Source>;
/// A word for [`ItemKind`].
pub type ItemKindWord = Word<ItemKind>;
/// A word for [`ExplainedKind`].
pub type ExplainedWord = Word<ExplainedKind>;

/// Item of the menu that is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ItemKind {
    /// A service.
    Service,
    /// A package.
    Package,
}

impl ItemKind {
    const ALL: &'static [Self] = &[Self::Service, Self::Package];

    const fn as_str(self) -> &'static str {
        match self {
            Self::Service => "SERVICE",
            Self::Package => "PACKAGE",
        }
    }
}

/// Services and packages to be priced for a car.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PriceBody {
    /// Menu that the prices come from: the one in force or the draft.
    source: SourceWord,
    /// Services and packages that are chosen.
    #[serde(deserialize_with = "at_most::<40, _, _>")]
    #[schema(max_items = 40)]
    lines: Vec<PriceLineBody>,
    /// Size class of the car.
    size: SizeWord,
    /// Condition class of the car.
    condition: ConditionWord,
    /// Powertrain of the car.
    powertrain: PowertrainWord,
}

/// Service or package that is chosen.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PriceLineBody {
    /// Kind of item: service or package.
    kind: ItemKindWord,
    /// Code of the service or package.
    code: Code,
    /// Quantity of the item; 1 if left out.
    #[serde(default = "one")]
    #[schema(required = false)]
    quantity: Number,
}

fn one() -> Number {
    Number(Decimal::ONE)
}

/// Prices and work of the chosen items.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceView {
    /// Items with their prices, in the order of the request.
    #[schema(max_items = 40)]
    lines: Vec<PriceLineView>,
    /// Whether the amounts are with tax (`GROSS`) or before tax (`NET`), as the menu states prices.
    prices: PricesWord,
    /// Sum of the lines, with or before tax as `prices` says.
    total: Amount,
    /// Work of all items together, each step once.
    work: PriceWorkView,
}

/// Item with its price.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceLineView {
    /// Kind of item: service or package.
    kind: ItemKindWord,
    /// Code of the service or package.
    #[schema(max_length = 40)]
    code: String,
    /// Name of the service or package.
    #[schema(max_length = 200)]
    name: String,
    /// Price of the whole quantity for the car, with or before tax as `prices` says.
    amount: Amount,
    /// Budget of one person for the whole quantity, in minutes, if nothing else were done to the car.
    #[schema(minimum = 0, maximum = 10_000_000)]
    budget_minutes: u32,
    /// Explanation of the price: its numbers, in order.
    #[schema(max_items = 2000)]
    explanation: Vec<ExplainedView>,
}

/// Row of a price explanation.
#[derive(Debug, Serialize, ToSchema)]
pub struct ExplainedView {
    /// Effect of the row on the price, such as labour, a factor or a discount.
    kind: ExplainedWord,
    /// Label of the row as people read it: the step, the product or the reason.
    #[schema(max_length = 500)]
    label: String,
    /// Unit of the product, for its amount and its price; null if the row is not about a product.
    unit: Option<UnitWord>,
    /// Numbers of the row, in the order in which they are multiplied or displayed.
    #[schema(max_items = 20)]
    figures: Vec<FigureView>,
}

/// Number with its name: a time, a plain number or an amount of money.
#[derive(Debug, Serialize, ToSchema)]
pub struct FigureView {
    /// Meaning of the number, such as `MINUTES` or `PER_HOUR`.
    #[schema(max_length = 40, example = "PER_HOUR")]
    name: String,
    /// Time in minutes; null for other numbers.
    #[schema(minimum = 0, maximum = 10_000_000)]
    minutes: Option<u32>,
    /// Factor, quantity or percentage; null for other numbers.
    number: Option<Number>,
    /// Amount of money; null for other numbers.
    amount: Option<Amount>,
}

/// Work of the chosen items.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceWorkView {
    /// Attended work of one person, in minutes.
    #[schema(minimum = 0, maximum = 10_000_000)]
    attended_minutes: u32,
    /// Time for setting up and clearing up between steps, in minutes.
    #[schema(minimum = 0, maximum = 10_000_000)]
    changeover_minutes: u32,
    /// Time from the beginning to the end of the last wait, in minutes, without interruptions.
    #[schema(minimum = 0, maximum = 10_000_000)]
    elapsed_minutes: u32,
    /// Names of the steps, in their order.
    #[schema(max_items = 200, value_type = Vec<Line<200>>)]
    steps: Vec<String>,
    /// Skills that the work needs.
    #[schema(max_items = 200, value_type = Vec<Code>)]
    skills: Vec<String>,
    /// Features that the bay must have.
    #[schema(max_items = 200, value_type = Vec<Code>)]
    bay_features: Vec<String>,
    /// Cautions for the work.
    #[schema(max_items = 500, value_type = Vec<Text<2000>>)]
    cautions: Vec<String>,
}

impl PriceBody {
    /// The choice for the use cases.
    pub(crate) fn read(self) -> Done<Ask> {
        let item = |line: &PriceLineBody| {
            let code = menu::Code::parse(line.code.as_str())?;
            let item = match line.kind.0 {
                ItemKind::Service => Item::Service(code),
                ItemKind::Package => Item::Package(code),
            };
            Ok((item, line.quantity.0))
        };
        Ok(Ask {
            source: self.source.0,
            items: self.lines.iter().map(item).collect::<Done<_>>()?,
            car: Car { size: self.size.0, condition: self.condition.0, powertrain: self.powertrain.0 },
        })
    }
}

impl PriceView {
    fn of(preview: &Preview) -> Self {
        let texts = |codes: &[menu::Code]| codes.iter().map(ToString::to_string).collect();
        Self {
            lines: preview.lines.iter().filter_map(|line| PriceLineView::of(line, preview.currency)).collect(),
            prices: Word(preview.prices),
            total: Amount::of(preview.total, preview.currency),
            work: PriceWorkView {
                attended_minutes: preview.plan.attended.get(),
                changeover_minutes: preview.plan.changeover.get(),
                elapsed_minutes: preview.plan.elapsed.get(),
                steps: preview.plan.steps.iter().map(|step| step.name.clone()).collect(),
                skills: texts(&preview.plan.skills),
                bay_features: texts(&preview.plan.features),
                cautions: {
                    let of_crew = preview.plan.cautions.iter().filter(|caution| caution.audience().has_crew());
                    of_crew.map(|caution| caution.text().to_owned()).collect()
                },
            },
        }
    }
}

impl PriceLineView {
    /// `None` for a line that is not an item of the menu, which a preview never has.
    fn of(line: &PricedLine, currency: Currency) -> Option<Self> {
        let (kind, code) = match &line.item {
            Item::Service(code) => (ItemKind::Service, code),
            Item::Package(code) => (ItemKind::Package, code),
            Item::Custom { .. } => return None,
        };
        Some(Self {
            kind: Word(kind),
            code: code.to_string(),
            name: line.name.clone(),
            amount: Amount::of(line.amount, currency),
            budget_minutes: line.minutes.get(),
            explanation: line.explanation.iter().map(|row| ExplainedView::of(row, currency)).collect(),
        })
    }
}

impl ExplainedView {
    /// The view of one row.
    pub fn of(row: &Explained, currency: Currency) -> Self {
        Self {
            kind: Word(row.kind),
            label: row.label.clone(),
            unit: row.unit.map(Word),
            figures: row.figures.iter().map(|figure| FigureView::of(*figure, currency)).collect(),
        }
    }
}

impl FigureView {
    fn of(figure: Figure, currency: Currency) -> Self {
        let (minutes, number, amount) = match figure {
            Figure::BaseMinutes(minutes) | Figure::Minutes(minutes) => (Some(minutes), None, None),
            Figure::SizeFactor(number)
            | Figure::ConditionFactor(number)
            | Figure::Quantity(number)
            | Figure::PricedBy(number)
            | Figure::Percent(number) => (None, Some(number), None),
            Figure::PerHour(amount) | Figure::UnitPrice(amount) | Figure::Step(amount) | Figure::Amount(amount) => {
                (None, None, Some(amount))
            }
        };
        Self {
            name: figure.as_str().to_owned(),
            minutes: minutes.map(Minutes::get),
            number: number.map(Number),
            amount: amount.map(|amount| Amount::of(amount, currency)),
        }
    }
}

/// Price a choice of services and packages.
///
/// Returns the price and the working time for a car, with the numbers behind each price. Nothing is stored. Reports all
/// faults of the choice at once, each with its pointer.
#[utoipa::path(tag = "menu", request_body = PriceBody,
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "Prices, explanation and work.", body = PriceView)))]
#[post("/v1/menu/price")]
async fn price(call: Call<Desk>, body: Body<PriceBody>) -> Answer {
    let ask = body.value.read()?;
    let preview = call.read(move |tx| usecase::price(tx, &ask)).await?;
    Ok(plain(&PriceView::of(&preview)))
}
