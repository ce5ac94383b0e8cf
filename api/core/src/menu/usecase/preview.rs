//! Price and duration of a choice; stores nothing.

use baywright_domain::document::Prices;
use baywright_domain::menu::Menu;
use baywright_domain::money::{Currency, Money};
use baywright_domain::plan::{Hands, ServiceUnits, WorkPlan, work_plan};
use baywright_domain::pricing::{Choice, Item, Line, Quoted, build};
use baywright_domain::refusal::Fault;
use baywright_domain::vehicle::Car;
use rust_decimal::Decimal;

use super::draft::{Judged, draft, judged};
use super::in_force;
use crate::platform::fail::Done;
use crate::platform::refusal::{FieldFault, Refused};
use crate::platform::tx::Tx;

/// Menu that the prices come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// The revision in force.
    InForce,
    /// The draft, as far as it is without faults.
    Draft,
}

impl Source {
    /// Both.
    pub const ALL: &'static [Self] = &[Self::InForce, Self::Draft];

    /// The word for programs.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::InForce => "IN_FORCE",
            Self::Draft => "DRAFT",
        }
    }
}

crate::words! { Source => "MenuSource" }

/// Car and services of a preview.
#[derive(Debug, Clone)]
pub struct Ask {
    /// Menu that is asked.
    pub source: Source,
    /// Services and packages, with quantities.
    pub items: Vec<(Item, Decimal)>,
    /// The car.
    pub car: Car,
}

/// The answer.
#[derive(Debug, Clone)]
pub struct Preview {
    /// Each item's price with its explanation, in the order asked.
    pub lines: Vec<Line>,
    /// The sum of the lines.
    pub total: Money,
    /// The work plan of all of them together.
    pub plan: WorkPlan,
    /// The currency of the amounts.
    pub currency: Currency,
    /// Whether the amounts are without tax or with it.
    pub prices: Prices,
}

/// Prices and plans a choice.
///
/// # Errors
/// `Conflict` without a menu in force; `Invalid` with every fault of the draft or of the choice.
pub fn price(tx: &mut Tx<'_>, ask: &Ask) -> Done<Preview> {
    let (menu, quoted) = quoted(tx, ask)?;
    let plan = work_plan(&menu, &services(&quoted), ask.car, Hands::One)?;
    let total = quoted.lines.iter().map(|line| line.amount).sum();
    Ok(Preview { lines: quoted.lines, total, plan, currency: tx.studio.currency, prices: menu.prices })
}

/// The menu and the services of a choice, from which its work is planned.
///
/// # Errors
/// `Conflict` without a menu in force; `Invalid` with every fault of the draft or of the choice.
pub fn chosen_work(tx: &mut Tx<'_>, ask: &Ask) -> Done<(Menu, Vec<ServiceUnits>)> {
    let (menu, quoted) = quoted(tx, ask)?;
    let services = services(&quoted);
    Ok((menu, services))
}

fn services(quoted: &Quoted) -> Vec<ServiceUnits> {
    ServiceUnits::sum(quoted.lines.iter().flat_map(Line::units))
}

fn quoted(tx: &mut Tx<'_>, ask: &Ask) -> Done<(Menu, Quoted)> {
    let menu = match ask.source {
        Source::InForce => in_force(tx)?.menu,
        Source::Draft => {
            let form = draft(tx)?.menu;
            let Judged { menu, faults, .. } = judged(tx, &form)?;
            if !faults.is_empty() {
                let detail = "The draft has faults. Correct what GET /v1/menu/draft/validation lists, then try again.";
                return Err(Refused::conflict("menu-faulty", detail).into());
            }
            menu
        }
    };
    let choices: Vec<Choice> = ask.items.iter().cloned().map(chosen).collect();
    let quoted = build(&menu, ask.car, &choices).map_err(|refusal| unpriceable(refusal.faults))?;
    Ok((menu, quoted))
}

fn chosen((item, quantity): (Item, Decimal)) -> Choice {
    Choice { item, quantity, discount: None, required: true }
}

fn unpriceable(faults: Vec<Fault>) -> Refused {
    let detail = "This choice can't be priced. Correct what each line says.";
    let pointed = |mut fault: Fault| {
        // An item of the rules corresponds to a line's code in the body.
        if let Some(line) = fault.pointer.strip_suffix("/item") {
            fault.pointer = format!("{line}/code");
        }
        FieldFault::from(fault)
    };
    Refused::invalid("choice-not-priceable", detail).with_faults(faults.into_iter().map(pointed).collect())
}
