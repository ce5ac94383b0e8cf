//! Work with its prices, as the pages show it.

use baywright_core::new_car::usecase::{MenuPrice, WorkPrice};
use baywright_core::platform::kept::{Amount, said};
use baywright_core::quote::kept::{DraftItem, LineExplanation, QuoteLine};
use baywright_core::shop::usecase::Settings;
use baywright_domain::calendar::ZoneRules;
use baywright_domain::document::Prices;
use baywright_domain::time::Minute;
use rust_decimal::Decimal;

use crate::signoff::text::{explained, working_time};

/// A service or package to tick.
pub(super) struct ItemView {
    /// Name of the field: `packages` or `services`.
    pub(super) field: &'static str,
    /// Its code.
    pub(super) code: String,
    pub(super) name: String,
    pub(super) summary: String,
    /// Its price; empty if it has none.
    pub(super) amount: String,
    /// Working time; empty if it takes none.
    pub(super) time: String,
    /// Names of what can't be combined with it, joined; empty for nothing.
    pub(super) not_with: String,
    /// The numbers behind the price, in order.
    pub(super) why: Vec<(String, String)>,
    /// Why it has no price; empty if it has one.
    pub(super) fault: String,
    pub(super) chosen: bool,
}

/// Price and first day of the chosen work.
pub(super) struct PriceView {
    pub(super) lines: Vec<(String, String)>,
    /// The discount on the whole; empty if there is none.
    pub(super) discount: String,
    pub(super) total: String,
    /// The deposit; empty if there is none.
    pub(super) deposit: String,
    /// Working time; empty if the work takes none.
    pub(super) time: String,
    /// Whether the lines' prices are with VAT.
    pub(super) basis: &'static str,
    /// The first day with its time, and when the car is ready; `None` if none was found.
    pub(super) first: Option<(String, String)>,
    pub(super) condition: &'static str,
    /// What somebody careful would check.
    pub(super) warnings: Vec<String>,
}

/// Field and code of an item of the menu; `None` for one of the desk's own.
pub(super) fn of_menu(item: &DraftItem) -> Option<(&'static str, &str)> {
    match item {
        DraftItem::Package(code) => Some(("packages", code)),
        DraftItem::Service(code) => Some(("services", code)),
        DraftItem::Custom(_) => None,
    }
}

fn why(line: &QuoteLine, explanation: &LineExplanation) -> Vec<(String, String)> {
    let currency = line.amount.currency();
    explanation.rows.iter().map(|row| (row.label.clone(), explained(row, currency))).collect()
}

impl ItemView {
    /// An item of the menu; `chosen` says of field and code whether it is ticked.
    pub(super) fn of(priced: MenuPrice, chosen: impl Fn(&str, &str) -> bool) -> Option<Self> {
        let (field, code) = of_menu(&priced.item)?;
        let chosen = chosen(field, code);
        let bare = Self {
            field,
            code: code.to_owned(),
            name: priced.name,
            summary: priced.summary,
            amount: String::new(),
            time: String::new(),
            not_with: priced.not_with.join(", "),
            why: Vec::new(),
            fault: String::new(),
            chosen,
        };
        Some(match &priced.price {
            Ok((line, explanation)) => Self {
                amount: line.amount.to_string(),
                time: working_time(line.minutes),
                why: why(line, explanation),
                ..bare
            },
            Err(fault) => Self { fault: fault.clone(), ..bare },
        })
    }

    /// An item that is chosen and no longer on the menu.
    pub(super) fn gone(field: &'static str, code: &str) -> Self {
        Self {
            field,
            code: code.to_owned(),
            name: code.replace('-', " "),
            summary: String::new(),
            amount: String::new(),
            time: String::new(),
            not_with: String::new(),
            why: Vec::new(),
            fault: "This is no longer on the menu: take it out.".to_owned(),
            chosen: true,
        }
    }
}

/// A moment as the clock on the shop's wall shows it: `Tuesday 8 December at 08:00`.
fn moment(settings: &Settings, at: Minute) -> String {
    settings.zone.to_local(at).format("%A %-d %B at %H:%M").to_string()
}

impl PriceView {
    /// The price of the chosen work.
    pub(super) fn of(found: WorkPrice, settings: &Settings) -> Self {
        let WorkPrice { price, first } = found;
        let document = price.document;
        let name = |line: &QuoteLine| match line.quantity.0.normalize() {
            one if one == Decimal::ONE => line.name.clone(),
            many => format!("{many} × {}", line.name),
        };
        let totals = price.totals.as_ref();
        let shown = |amount: Option<&Amount>| amount.filter(|amount| !amount.is_zero()).map(ToString::to_string);
        Self {
            lines: document.lines.iter().map(|line| (name(line), line.amount.to_string())).collect(),
            discount: totals
                .filter(|totals| !totals.discounts.is_zero())
                .map(|totals| totals.discounts.less())
                .unwrap_or_default(),
            total: totals.map_or_else(|| said(&document.studio.currency, "0"), |totals| totals.payable.to_string()),
            deposit: shown(totals.and_then(|totals| totals.deposit.as_ref())).unwrap_or_default(),
            time: totals.map(|totals| working_time(totals.minutes)).unwrap_or_default(),
            basis: match document.prices.0 {
                Prices::Gross => "with VAT",
                Prices::Net => "before VAT",
            },
            first: first.map(|first| (moment(settings, first.visit.start), moment(settings, first.at))),
            condition: document.condition.0.label(),
            warnings: price.warnings.into_iter().map(|warning| warning.detail).collect(),
        }
    }
}
