//! The fourth step: the work, with its prices and the first day on which it can be done.

use baywright_domain::id::EnquiryId;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::Code;
use baywright_domain::plan::Hands;
use baywright_domain::pricing::Item;
use rust_decimal::Decimal;

use super::{NewCar, show, unchanged};
use crate::booking::usecase::{self as booking, Promised, Question};
use crate::enquiry::usecase as enquiry;
use crate::menu::usecase::{self as menu, Ask, Source};
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::{Number, Word};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::kept::{DraftItem, DraftLine, LineExplanation, QuoteDraft, QuoteLine};
use crate::quote::usecase::{self as quote, Price};

/// Work that is chosen for a new car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Work {
    /// Services, packages and items of the desk's own, in order.
    pub items: Vec<DraftItem>,
    /// Condition of the car, if nobody walked round it; `None` to leave it as it is.
    pub condition: Option<ConditionClass>,
}

/// A service or package of the menu with its price for the car.
#[derive(Debug, Clone)]
pub struct MenuPrice {
    /// The service or package.
    pub item: DraftItem,
    /// Its name.
    pub name: String,
    /// Description of what the customer gets.
    pub summary: String,
    /// Its price with the explanation, or why it has none for this car.
    pub price: Result<(QuoteLine, LineExplanation), String>,
    /// Names of the services and packages that can't be combined with it.
    pub not_with: Vec<String>,
}

/// Price and first day of a choice of work.
#[derive(Debug, Clone)]
pub struct WorkPrice {
    /// The price, with the totals of all chosen lines.
    pub price: Price,
    /// The first time at which the work can be done; `None` if there is none in the searched period, or the work takes no
    /// time.
    pub first: Option<Promised>,
}

/// The draft of a quote with that work: a line that was there before keeps its quantity, its discount and whether it is
/// required.
pub fn draft_of(new: &NewCar, work: &Work) -> QuoteDraft {
    let before = new.quote.as_ref().map(|shown| &shown.revision.draft);
    let lines = work.items.iter().map(|item| {
        let earlier = before.and_then(|draft| draft.lines.iter().find(|line| is_same(&line.item, item)));
        let line =
            DraftLine { item: item.clone(), quantity: Number(Decimal::ONE), required: true, tax: None, discount: None };
        earlier.map_or(line, |earlier| DraftLine { item: item.clone(), ..earlier.clone() })
    });
    let blank = QuoteDraft {
        inspection_id: None,
        size_class: None,
        condition: None,
        prices: None,
        lines: Vec::new(),
        discounts: Vec::new(),
        deposit: None,
        notes: String::new(),
        valid_days: None,
    };
    let mut draft = QuoteDraft { lines: lines.collect(), ..before.cloned().unwrap_or(blank) };
    let walked = new.walk_round.as_ref().map(|inspection| inspection.judged.condition.class);
    draft.condition = match (&draft.inspection_id, walked) {
        (Some(_), _) => None,
        (None, Some(class)) => Some(Word(class)),
        (None, None) => work.condition.map(Word).or(draft.condition),
    };
    draft
}

/// Whether two items are the same service or package, or have the same name of the desk's own.
fn is_same(one: &DraftItem, other: &DraftItem) -> bool {
    match (one, other) {
        (DraftItem::Custom(one), DraftItem::Custom(other)) => one.name == other.name,
        _ => one == other,
    }
}

/// Everything on the menu in force with its price for the car, packages first.
///
/// # Errors
/// `Conflict` if no car is chosen, without a menu in force, or without a rate of tax for today.
pub fn menu_prices(tx: &mut Tx<'_>, new: &NewCar, condition: ConditionClass) -> Done<Vec<MenuPrice>> {
    let car = new.vehicle()?.id.clone();
    let form = menu::in_force(tx)?.form;
    let packages = form.packages.into_iter().map(|one| (DraftItem::Package(one.code), one.name, one.summary));
    let services = form.services.into_iter().map(|one| (DraftItem::Service(one.code), one.name, one.summary));
    let all: Vec<(DraftItem, String, String)> = packages.chain(services).collect();
    let mut faults: Vec<Option<String>> = vec![None; all.len()];
    // All of it is priced at once. What has no price for this car is left out the next time, so this ends.
    let price = loop {
        let open: Vec<usize> = (0..all.len()).filter(|at| faults.get(*at).is_some_and(Option::is_none)).collect();
        let items: Vec<DraftItem> =
            open.iter().filter_map(|at| all.get(*at)).map(|(item, _, _)| item.clone()).collect();
        if items.is_empty() {
            break None;
        }
        match quote::price(tx, &car, &to_choose_from(new, items, condition), None) {
            Ok(price) => break Some(price),
            Err(Fail::Refused(refused)) if note_faults(&refused, &open, &mut faults) => {}
            Err(other) => return Err(other),
        }
    };
    let (mut lines, mut conflicts) = (Vec::new(), Vec::new());
    if let Some(price) = price {
        conflicts = price.document.conflicts;
        lines = price.document.lines.into_iter().zip(price.explanation).collect();
    }
    let names: Vec<String> = lines.iter().map(|(line, _): &(QuoteLine, LineExplanation)| line.name.clone()).collect();
    let name_of = |at: u32| names.get(usize::try_from(at).ok()?).cloned();
    let mut lines = (0_u32..).zip(lines);
    let priced = all.into_iter().zip(faults).map(|((item, name, summary), fault)| {
        let (price, not_with) = match (fault, &mut lines) {
            (Some(fault), _) => (Err(fault), Vec::new()),
            (None, lines) => match lines.next() {
                Some((at, priced)) => {
                    let others = conflicts.iter().filter_map(|pair| match (pair.one, pair.other) {
                        (one, other) if one == at => name_of(other),
                        (one, other) if other == at => name_of(one),
                        _ => None,
                    });
                    (Ok(priced), others.collect())
                }
                None => (Err("It has no price now.".to_owned()), Vec::new()),
            },
        };
        MenuPrice { item, name, summary, price, not_with }
    });
    Ok(priced.collect())
}

/// A draft in which the customer could choose among these items.
fn to_choose_from(new: &NewCar, items: Vec<DraftItem>, condition: ConditionClass) -> QuoteDraft {
    let plain = draft_of(new, &Work { items: Vec::new(), condition: None });
    let line = |item| DraftLine { item, quantity: Number(Decimal::ONE), required: false, tax: None, discount: None };
    QuoteDraft {
        inspection_id: None,
        condition: Some(Word(condition)),
        lines: items.into_iter().map(line).collect(),
        discounts: Vec::new(),
        ..plain
    }
}

/// Notes which of the open items can't be priced, and why; whether there are any.
fn note_faults(refused: &Refused, open: &[usize], faults: &mut [Option<String>]) -> bool {
    let mut any = false;
    for fault in refused.errors() {
        let mut parts = fault.pointer.split('/').skip_while(|part| *part != "lines").skip(1);
        let line = parts.next().and_then(|number| number.parse::<usize>().ok()).and_then(|at| open.get(at));
        if let Some(noted) = line.and_then(|at| faults.get_mut(*at)) {
            noted.get_or_insert_with(|| fault.detail.clone());
            any = true;
        }
    }
    any
}

/// Price and first day of chosen work; nothing is stored. Lines that the customer may leave out are in the totals too.
///
/// # Errors
/// `Conflict` if no car is chosen or without a menu in force; `Invalid` with every fault of the choice.
pub fn work_price(tx: &mut Tx<'_>, new: &NewCar, work: &Work) -> Done<WorkPrice> {
    let car = new.vehicle()?.id.clone();
    let draft = draft_of(new, work);
    let optional = draft.lines.iter().enumerate().filter(|(_, line)| !line.required).map(|(at, _)| at);
    let optional: Vec<usize> = optional.collect();
    let ticked = (!optional.is_empty()).then_some(optional.as_slice());
    let price = quote::price(tx, &car, &draft, ticked).map_err(in_work)?;
    let items = draft.lines.iter().map(|line| Ok(item(&line.item)?.map(|item| (item, line.quantity.0))));
    let items: Vec<(Item, Decimal)> = items.collect::<Done<Vec<_>>>()?.into_iter().flatten().collect();
    if items.is_empty() {
        return Ok(WorkPrice { price, first: None });
    }
    let ask = Ask { source: Source::InForce, items, car: price.document.car() };
    let question = Question { from: None, by: None, count: 1, hands: Hands::One, may_move: false };
    let found = booking::first_times(tx, &ask, &question)?;
    let first = found.choices.into_iter().next().and_then(|choice| choice.times.into_iter().next());
    Ok(WorkPrice { price, first })
}

/// The item of the menu; `None` for one of the desk's own, which takes no planned time.
fn item(item: &DraftItem) -> Done<Option<Item>> {
    Ok(match item {
        DraftItem::Service(code) => Some(Item::Service(Code::parse(code)?)),
        DraftItem::Package(code) => Some(Item::Package(Code::parse(code)?)),
        DraftItem::Custom(_) => None,
    })
}

/// Faults of a draft as those of the choice of work.
fn in_work(fail: Fail) -> Fail {
    fail.repointed(|pointer| pointer.strip_prefix("/draft").unwrap_or(pointer).to_owned())
}

/// Saves the work in the draft of the quote, which is written now if there is none, and links it to the enquiry. `seen` is
/// the version of the quote, 0 if there was none.
///
/// # Errors
/// `ChangedMeanwhile` if somebody else chose work; `Conflict` if no car is chosen, or if the quote was sent; those of
/// a draft.
pub fn choose_work(tx: &mut Tx<'_>, id: &EnquiryId, seen: Seen, work: &Work) -> Done<()> {
    let new = show(tx, id)?;
    let car = new.vehicle()?.id.clone();
    unchanged(seen, new.quote_version())?;
    let draft = draft_of(&new, work);
    match &new.quote {
        Some(shown) if shown.revision.draft == draft => {}
        Some(shown) => {
            quote::replace_draft(tx, &shown.quote.id, seen, &draft)?;
        }
        None => {
            let made = quote::create(tx, &car, &draft).map_err(in_work)?;
            enquiry::quoted(tx, id, Seen(new.enquiry.version), &made.quote.id)?;
        }
    }
    // What to check is shown with the price, before the quote is sent.
    tx.warnings.clear();
    Ok(())
}
