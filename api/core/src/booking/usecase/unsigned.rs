//! First times for work that nobody has signed: for a call on the phone, and for each choice of a quote's options.
//!
//! The search is that of signed work, and nothing is stored. The times assume that the customer agrees to a start within
//! the 14 days in which they can withdraw.

use baywright_domain::id::{QuoteId, VehicleId};
use baywright_domain::learning::Outlook;
use baywright_domain::menu::Menu;
use baywright_domain::plan::{Hands, ServiceUnits, WorkPlan, without_one};
use baywright_domain::quote::{combinations, required_lines};
use baywright_domain::schedule::Diary;
use baywright_domain::time::Minute;
use baywright_domain::vehicle::Car;

use super::diary::{self, AHEAD_DAYS, Book, Others};
use super::explain::{Asked, Figured};
use super::offer::{MOST_OFFERS, Promised, Question};
use super::why::Hindered;
use crate::menu::usecase::{self as menu, Ask};
use crate::plan::usecase::{self as plan, Unsigned};
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::shop::settings::Settings;
use crate::{quote, shop};

/// First times for one or more choices of work.
#[derive(Debug, Clone)]
pub struct FirstTimes {
    /// Start of the period that was searched.
    pub from: Minute,
    /// End of the period that was searched.
    pub until: Minute,
    /// The choices, each with its times.
    pub choices: Vec<ChoiceTimes>,
}

/// First times for a choice of work.
#[derive(Debug, Clone)]
pub struct ChoiceTimes {
    /// Indexes of the optional lines of the quote that it takes, from 0.
    pub ticked: Vec<usize>,
    /// Number of people who do the work: one if no step allows two.
    pub hands: Hands,
    /// Estimate of the work's duration; `None` if no step takes time.
    pub outlook: Option<Outlook>,
    /// The times, by start and finish, each with its promise.
    pub times: Vec<Promised>,
    /// Reason why none is done in time; empty if the first one is.
    pub reasons: Vec<Hindered>,
    /// Its finish with each cause taken away; empty if the first time is done in time.
    pub figures: Vec<Figured>,
}

/// A choice: the optional lines that it takes, and the services of all its lines.
type Chosen = (Vec<usize>, Vec<ServiceUnits>);

/// First times for services and packages of the menu, without a quote.
///
/// # Errors
/// `Conflict` without a menu in force; `Invalid` with every fault of the choice.
pub fn first_times(tx: &mut Tx<'_>, ask: &Ask, question: &Question) -> Done<FirstTimes> {
    let (menu, services) = menu::chosen_work(tx, ask)?;
    search(tx, (&menu, ask.car), None, &[(Vec::new(), services)], (question, "/by"))
}

/// First times for each choice of a quote's optional lines, as its latest revision offers them.
///
/// # Errors
/// `NotFound` if the shop has no such quote; `Conflict` or `Invalid` if its draft can't be priced.
pub fn first_times_of_options(tx: &mut Tx<'_>, id: &QuoteId, question: &Question) -> Done<FirstTimes> {
    let offer = quote::usecase::on_offer(tx, id)?;
    let required = required_lines(&offer.offered.lines);
    let choices = combinations(&offer.offered.plain_lines(), &offer.offered.conflicts);
    let choices = choices.into_iter().map(|ticked| {
        let taken: Vec<usize> = required.iter().chain(&ticked).copied().collect();
        let services = offer.offered.services(&taken);
        (ticked, services)
    });
    let choices: Vec<Chosen> = choices.collect();
    search(tx, (&offer.menu, offer.car), Some(&offer.vehicle), &choices, (question, "?by"))
}

/// First time for one choice of a quote's optional lines, as its latest revision offers them; `None` if nothing is to be
/// planned or no time was found. The choice may be one that can't be ordered.
///
/// # Errors
/// `NotFound` if the shop has no such quote; `Conflict` or `Invalid` if its draft can't be priced.
pub fn first_time_of_choice(tx: &mut Tx<'_>, id: &QuoteId, ticked: &[usize]) -> Done<Option<Promised>> {
    let offer = quote::usecase::on_offer(tx, id)?;
    let required = required_lines(&offer.offered.lines);
    let known = ticked.iter().copied().filter(|place| offer.offered.lines.get(*place).is_some());
    let taken: Vec<usize> = required.into_iter().chain(known).collect();
    let choice = [(ticked.to_vec(), offer.offered.services(&taken))];
    let question = Question { from: None, by: None, count: 1, hands: Hands::One, may_move: false };
    let found = search(tx, (&offer.menu, offer.car), Some(&offer.vehicle), &choice, (&question, "?by"))?;
    Ok(found.choices.into_iter().find_map(|choice| choice.times.into_iter().next()))
}

/// The times of each choice, with one reading of the diary. `vehicle` is the car, if it is known: its other bookings
/// count. `pointer` is where the request has the time by which the work must be done.
fn search(
    tx: &mut Tx<'_>,
    (menu, car): (&Menu, Car),
    vehicle: Option<&VehicleId>,
    choices: &[Chosen],
    (question, pointer): (&Question, &str),
) -> Done<FirstTimes> {
    let settings = shop::usecase::settings(tx)?;
    let now = tx.now.minute();
    let from = question.from.unwrap_or(now).max(now);
    question.by_is_after(from, pointer)?;
    let services: Vec<Vec<ServiceUnits>> = choices.iter().map(|(_, services)| services.clone()).collect();
    let plans = plan::unsigned(tx, menu, car, question.hands, &services)?;
    let book = diary::open(tx, &settings, from, AHEAD_DAYS, question.hands, vehicle, None)?;
    let diary = book.diary(Others::Count)?;
    let mut found = Vec::with_capacity(choices.len());
    for ((ticked, services), plan) in choices.iter().zip(plans) {
        let Some(plan) = plan else {
            found.push(ChoiceTimes::of_nothing(ticked));
            continue;
        };
        // What a quote costs in time without one of its options is what its other choices say.
        let one_choice = vehicle.is_none();
        let services = services.as_slice();
        let chosen = Choice { ticked, services: if one_choice { services } else { &[] }, menu, car };
        found.push(times(tx, (&book, &diary), &settings, &chosen, plan, (from, question))?);
    }
    Ok(FirstTimes { from, until: book.horizon.span().to(), choices: found })
}

/// A choice, with what its work is planned from.
struct Choice<'a> {
    ticked: &'a [usize],
    /// Services that may be left out one by one.
    services: &'a [ServiceUnits],
    menu: &'a Menu,
    car: Car,
}

impl ChoiceTimes {
    /// A choice in which no step takes time.
    fn of_nothing(ticked: &[usize]) -> Self {
        Self {
            ticked: ticked.to_vec(),
            hands: Hands::One,
            outlook: None,
            times: Vec::new(),
            reasons: Vec::new(),
            figures: Vec::new(),
        }
    }
}

fn times(
    tx: &mut Tx<'_>,
    (book, diary): (&Book, &Diary),
    settings: &Settings,
    choice: &Choice<'_>,
    plan: Unsigned,
    (from, question): (Minute, &Question),
) -> Done<ChoiceTimes> {
    let Unsigned { work, hands, outlook } = plan;
    let orders = work.step_orders()?;
    let moving = book.moving(settings, &work, question.may_move);
    let visits = diary.visits(&orders, moving).list(from, question.count.min(MOST_OFFERS));
    let until = book.horizon.span().to();
    let by = question.by.unwrap_or(until);
    let (mut reasons, mut figures) = (Vec::new(), Vec::new());
    if visits.first().is_none_or(|first| first.finish > by) {
        let allowed = |work: &WorkPlan| book.moving(settings, work, question.may_move);
        let car = (choice.car, hands);
        let less = without_one(choice.menu, choice.services, car, diary, allowed, (from, until));
        let asked = Asked { settings, book, work: &work, orders: &orders, moving };
        (reasons, figures) = asked.why_not(tx, (from, by), (choice.menu, &less))?;
    }
    let times = visits.into_iter().map(|visit| book.promise(settings, Some(&outlook), visit)).collect();
    Ok(ChoiceTimes { ticked: choice.ticked.to_vec(), hands, outlook: Some(outlook), times, reasons, figures })
}
