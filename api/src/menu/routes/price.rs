//! What a choice would cost: the desk's preview.

use actix_web::post;
use baywright_domain::menu;
use baywright_domain::money::Currency;
use baywright_domain::pricing::{Explained, ExplainedKind, Figure, Item, Line as PricedLine};
use baywright_domain::time::Minutes;
use baywright_domain::vehicle::Car;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::menu::form::{ConditionWord, PowertrainWord, PricesWord, SizeWord, UnitWord};
use crate::menu::usecase::{self, Ask, Preview, Source};
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::fail::Done;
use crate::platform::identity::Desk;
use crate::platform::wire::{Amount, Code, Line, Number, Text, Word, at_most};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(price);
}

crate::wire_words! { Source => "MenuSource", ItemKind => "MenuItemKind" }

// The API document's derive reads a plain name better than one with parameters.
/// A word for [`Source`].
pub type SourceWord = Word<Source>;
/// A word for [`ItemKind`].
pub type ItemKindWord = Word<ItemKind>;
/// A word for [`ExplainedKind`].
pub type ExplainedWord = Word<ExplainedKind>;

/// What of the menu is chosen.
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

/// A choice for a car.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PriceBody {
    /// Which menu is asked.
    source: SourceWord,
    /// What is chosen.
    #[serde(deserialize_with = "at_most::<40, _, _>")]
    #[schema(max_items = 40)]
    lines: Vec<PriceLineBody>,
    /// How large the car is.
    size: SizeWord,
    /// How much extra work it needs.
    condition: ConditionWord,
    /// What drives it.
    powertrain: PowertrainWord,
}

/// One thing chosen.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PriceLineBody {
    /// A service or a package.
    kind: ItemKindWord,
    /// Its code.
    code: Code,
    /// How many of it; 1 if left out.
    #[serde(default = "one")]
    #[schema(required = false)]
    quantity: Number,
}

fn one() -> Number {
    Number(Decimal::ONE)
}

/// What the choice would cost.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceView {
    /// Each item with its price, in the order asked.
    #[schema(max_items = 40)]
    lines: Vec<PriceLineView>,
    /// Whether the amounts are with tax (`GROSS`) or without (`NET`), as the menu states prices.
    prices: PricesWord,
    /// The sum of the lines.
    total: Amount,
    /// The work of all of them together, each step once.
    work: PriceWorkView,
}

/// One item with its price.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceLineView {
    /// A service or a package.
    kind: ItemKindWord,
    /// Its code.
    #[schema(max_length = 40)]
    code: String,
    /// Its name.
    #[schema(max_length = 200)]
    name: String,
    /// Its price for the car, for all of the quantity.
    amount: Amount,
    /// Budget minutes of one pair of hands for all of the quantity, if nothing else were done to the car.
    #[schema(minimum = 0, maximum = 10_000_000)]
    budget_minutes: u32,
    /// The numbers that made the price, in order.
    #[schema(max_items = 2000)]
    explanation: Vec<ExplainedView>,
}

/// One row of an explanation.
#[derive(Debug, Serialize, ToSchema)]
pub struct ExplainedView {
    /// What it does to the price.
    kind: ExplainedWord,
    /// What it is about, for people.
    #[schema(max_length = 500)]
    label: String,
    /// What a product is counted in: what was used, and what its price is for. Null where the row is about no product.
    unit: Option<UnitWord>,
    /// Its numbers, in the order in which they are multiplied or shown.
    #[schema(max_items = 20)]
    figures: Vec<FigureView>,
}

/// One named number: minutes, a plain number, or an amount of money.
#[derive(Debug, Serialize, ToSchema)]
pub struct FigureView {
    /// What it is.
    #[schema(max_length = 40, example = "PER_HOUR")]
    name: String,
    /// The minutes, where it is a time.
    #[schema(minimum = 0, maximum = 10_000_000)]
    minutes: Option<u32>,
    /// The number, where it is a factor, quantity or percentage.
    number: Option<Number>,
    /// The amount, where it is money.
    amount: Option<Amount>,
}

/// The work of a choice.
#[derive(Debug, Serialize, ToSchema)]
pub struct PriceWorkView {
    /// Attended minutes of one pair of hands.
    #[schema(minimum = 0, maximum = 10_000_000)]
    attended_minutes: u32,
    /// Minutes of setting up and clearing up between steps.
    #[schema(minimum = 0, maximum = 10_000_000)]
    changeover_minutes: u32,
    /// Minutes from the beginning to the end of the last wait, if nothing interrupts.
    #[schema(minimum = 0, maximum = 10_000_000)]
    elapsed_minutes: u32,
    /// Names of the steps in their order.
    #[schema(max_items = 200, value_type = Vec<Line<200>>)]
    steps: Vec<String>,
    /// Skills that the work needs.
    #[schema(max_items = 200, value_type = Vec<Code>)]
    skills: Vec<String>,
    /// Features that the bay must have.
    #[schema(max_items = 200, value_type = Vec<Code>)]
    bay_features: Vec<String>,
    /// What to be careful of.
    #[schema(max_items = 500, value_type = Vec<Text<2000>>)]
    cautions: Vec<String>,
}

impl PriceBody {
    fn read(self) -> Done<Ask> {
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
    /// None for a line that is no item of the menu, which a preview has none of.
    fn of(line: &PricedLine, currency: Currency) -> Option<Self> {
        let (kind, code) = match &line.item {
            Item::Service(code) => (ItemKind::Service, code),
            Item::Package(code) => (ItemKind::Package, code),
            Item::Typed { .. } => return None,
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

/// Price a choice.
///
/// What it would cost for such a car and how long it would take, with the numbers that made each price. Nothing is
/// kept. Every fault of the choice is answered at once, with its place.
#[utoipa::path(tag = "menu", request_body = PriceBody,
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "Prices, explanation and work.", body = PriceView)))]
#[post("/v1/menu/price")]
async fn price(call: Call<Desk>, body: Body<PriceBody>) -> Answer {
    let ask = body.value.read()?;
    let preview = call.read(move |tx| usecase::price(tx, &ask)).await?;
    Ok(plain(&PriceView::of(&preview)))
}
