//! Taking a place: holding it for a while, or booking it.

use baywright_domain::booking::BookingState;
use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::id::{BayId, BookingId, QuoteId};
use baywright_domain::plan::{Hands, PlaceWanted, WorkPlan};
use baywright_domain::schedule::stays::{BrokenVisit, Moving, Visit};
use baywright_domain::schedule::{Holder, NoPlace, Obstacle, slot_of};
use baywright_domain::time::{IntervalSet, Minute, Minutes};
use serde_json::json;

use super::diary::{self, AHEAD_DAYS, Book, Others};
use super::explain::Asked;
use super::letter::{News, tell};
use super::store::{self, NewRow};
use super::{Detailed, detailed, lapse, of_quote, promise};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::refusal::{FinishFigure, Refused};
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::shop::settings::Settings;
use crate::signoff::usecase::{self as signoff, Subject};
use crate::{customer, plan, quote, shop};

/// Whether a place is only held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wish {
    /// Hold it for as long as the shop's settings say.
    Hold,
    /// Book it.
    Book,
}

/// A place to take.
#[derive(Debug, Clone)]
pub struct NewBooking {
    /// The signed quote whose work is to be done.
    pub quote: QuoteId,
    /// The bay.
    pub bay: BayId,
    /// Time when the car takes it.
    pub start: Minute,
    /// Whether the car may change bays even if one bay has everything that its work needs.
    pub may_move: bool,
    /// Held or booked.
    pub wish: Wish,
    /// Number of people who do the work, at the steps that allow two.
    pub hands: Hands,
    /// Note of the desk.
    pub note: String,
}

/// Refuses the request early if a quick check is enough: the quote has its place already, or another car has the bay at
/// that very minute. It costs two small reads, a refusal those of the diary for its figures, and no lock, so that a rush on
/// one slot doesn't queue for the shop's only writer.
pub fn is_plainly_taken(tx: &mut Tx<'_>, new: &NewBooking) -> Done<()> {
    // This comes first, since the car in the bay may be the quote's own.
    not_booked_yet(tx, &new.quote)?;
    let Some(taken) = store::bay_at(tx, &new.bay, new.start)? else { return Ok(()) };
    let zone = Zone::named(&tx.studio.zone)?;
    let figures = figures_of_taken(tx, new)?;
    Err(refusal(&zone, new, Obstacle::BayTaken(Holder::Car(taken))).with_figures(figures).into())
}

/// The figures of a place that is plainly taken; none if the work can't be planned, for which the request is refused
/// anyway.
fn figures_of_taken(tx: &mut Tx<'_>, new: &NewBooking) -> Done<Vec<FinishFigure>> {
    let plan = match plan::usecase::of_quote(tx, &new.quote) {
        Ok(plan) => plan.with(new.hands)?,
        Err(Fail::Refused(_)) => return Ok(Vec::new()),
        Err(fail) => return Err(fail),
    };
    let settings = shop::usecase::settings(tx)?;
    let work = plan.work()?;
    let orders = work.step_orders()?;
    let book = diary::open(tx, &settings, new.start, near(&work)?, plan.hands, Some(&plan.vehicle), None)?;
    let moving = book.moving(&settings, &work, new.may_move);
    let asked = Asked { settings: &settings, book: &book, work: &work, orders: &orders, moving };
    asked.figures_at(tx, new.bay.as_str(), new.start)
}

/// Number of days to search first: nearly every job ends within three weeks, and reading less is quicker.
fn near(work: &WorkPlan) -> Done<u32> {
    Ok((work.to_schedule()?.shortest().get() / 1440 + 21).min(AHEAD_DAYS))
}

pub(super) fn not_booked_yet(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<()> {
    match of_quote(tx, quote)? {
        None => Ok(()),
        Some(booking) => Err(Refused::conflict(
            "already-booked",
            format!("This quote is already booked: booking {}, {}. Move that booking.", booking.id, booking.state),
        )
        .into()),
    }
}

/// Takes a place for the quote's work, and tells the customer if it is booked.
pub fn make(tx: &mut Tx<'_>, new: &NewBooking) -> Done<Detailed> {
    lapse::end_lapsed(tx)?;
    not_booked_yet(tx, &new.quote)?;
    let plan = plan::usecase::of_quote(tx, &new.quote)?.with(new.hands)?;
    customer::usecase::standing(tx, &plan.customer)?;
    let settings = shop::usecase::settings(tx)?;
    in_time(tx, &settings, &plan, new.start)?;
    soon_enough(tx, &settings, new.start)?;
    let (visit, open) = find(tx, &settings, &plan, new, None)?;
    let (state, hold_until) = match new.wish {
        Wish::Hold => (BookingState::Held, Some(tx.now.plus_minutes(i64::from(settings.terms.hold.get())))),
        Wish::Book => (BookingState::Booked, None),
    };
    let id: BookingId = ids::new();
    store::insert(tx, &NewRow { id: &id, plan: &plan, state, hands: plan.hands, hold_until, note: &new.note })
        .map_err(|error| if error.is_taken() { raced_quote() } else { error.into() })?;
    let margin = promise::margin(tx, &settings, &plan, &visit, &open)?;
    take(tx, &id, &visit, settings.terms.moving.minutes, margin, hold_until, new)?;
    let action = if new.wish == Wish::Hold { "booking.held" } else { "booking.booked" };
    record::write(tx, action, ("booking", id.as_str()), told(new, plan.hands, &visit, margin))?;
    let made = detailed(tx, &id)?;
    if new.wish == Wish::Book {
        tell(tx, &made.booking, News::Booked)?;
    }
    Ok(made)
}

/// First moment at which the work may begin, if the customer can still withdraw and did not agree to an earlier start.
pub fn not_before(tx: &mut Tx<'_>, plan: &plan::usecase::Plan) -> Done<Option<Minute>> {
    match signoff::find(tx, &Subject::quote(plan.revision.as_str()))? {
        Some(signed) => Ok(quote::usecase::start_terms(tx, &signed)?.not_before),
        None => Ok(None),
    }
}

/// Warns if a quote's work is booked for a time within the 14 days in which the customer can withdraw, and they did not
/// agree to that.
pub fn warn_if_too_early(tx: &mut Tx<'_>, quote: &QuoteId) -> Done<()> {
    let Some(booking) = of_quote(tx, quote)? else { return Ok(()) };
    if quote::usecase::may_begin(tx, quote)?.is_some_and(|first| booking.place.starts < first) {
        let detail = "Move the booking, or record that the customer agrees to an earlier start: the work is booked \
                      within the 14 days in which they can withdraw, and they did not agree to that.";
        tx.warn("booked-within-withdrawal", "/early_start", detail);
    }
    Ok(())
}

/// Warns the person who records an arrival that work on the car may not begin yet.
pub(super) fn warn_to_wait(tx: &mut Tx<'_>, plan: &plan::usecase::Plan) -> Done<()> {
    if let Some(first) = not_before(tx, plan)?.filter(|first| tx.now.minute() < *first) {
        let first = Zone::named(&tx.studio.zone)?.wall(first);
        let detail = format!(
            "Start no step before {first}, unless you record that the customer agrees to an earlier start: they can \
             withdraw within 14 days and did not agree to work in that time."
        );
        tx.warn("early-start-not-agreed", "", detail);
    }
    Ok(())
}

/// Refuses a start within the 14 days if the customer did not agree to an early start.
pub(super) fn in_time(tx: &mut Tx<'_>, settings: &Settings, plan: &plan::usecase::Plan, start: Minute) -> Done<()> {
    match not_before(tx, plan)? {
        Some(first) if start < first => {
            let detail = format!(
                "The customer can withdraw within 14 days and did not agree to work before {}. Choose a start from \
                 then on, or record that they agree to an earlier one: POST /v1/quotes/{}/early-start.",
                settings.wall(first),
                plan.quote
            );
            Err(Refused::field("/start", "within_withdrawal", detail).into())
        }
        _ => Ok(()),
    }
}

/// Asks for a confirmation of a start beyond the period that the diary offers: it is often a wrong year.
pub(super) fn soon_enough(tx: &mut Tx<'_>, settings: &Settings, start: Minute) -> Done<()> {
    let last = tx.now.minute() + Minutes::new(AHEAD_DAYS * 1440);
    if start <= last {
        return Ok(());
    }
    let detail = format!(
        "This start is {}, but times are offered only until {}. Check the year, and confirm the start if it is right.",
        settings.wall(start),
        settings.wall(last)
    );
    tx.must_confirm("far-ahead", detail)
}

/// What the log records of a place.
pub(super) fn told(new: &NewBooking, hands: Hands, visit: &Visit, margin: Minutes) -> serde_json::Value {
    let bays: Vec<&str> = visit.stays.iter().map(|stay| stay.bay.as_str()).collect();
    let mut told = json!({
        "quote": new.quote.as_str(),
        "bay": bays.first(),
        "hands": hands.as_str(),
        "start": UtcTime::from_minute(visit.start).to_string(),
        "finish": UtcTime::from_minute(visit.finish).to_string(),
        "promised": UtcTime::from_minute(visit.finish + margin).to_string(),
    });
    if bays.len() > 1 {
        told["bays"] = json!(bays);
    }
    told
}

/// Stores the bays' and the people's time; the database's constraints refuse it if somebody else was faster.
pub(super) fn take(
    tx: &mut Tx<'_>,
    id: &BookingId,
    visit: &Visit,
    move_minutes: Minutes,
    margin: Minutes,
    hold_until: Option<UtcTime>,
    new: &NewBooking,
) -> Done<()> {
    let zone = Zone::named(&tx.studio.zone)?;
    store::take(tx, id, visit, move_minutes, margin, hold_until).map_err(|error: DbError| {
        if error.is_taken() { no_place(&zone, new, Obstacle::BayTaken(Holder::Faster)) } else { Fail::from(error) }
    })
}

/// The visit that starts at this minute in this bay, by the rules and the current rows, with the open time of its last
/// bay; or the reason why there is none. `except` is the booking that is being moved.
pub(super) fn find(
    tx: &mut Tx<'_>,
    settings: &Settings,
    plan: &plan::usecase::Plan,
    new: &NewBooking,
    except: Option<&BookingId>,
) -> Done<(Visit, IntervalSet)> {
    if new.start < slot_of(&settings.zone, settings.terms.slot, tx.now.minute()) {
        return Err(no_place(&settings.zone, new, Obstacle::Passed));
    }
    let work = plan.work()?;
    let orders = work.step_orders()?;
    // For a job that does not end in the near days the search is repeated.
    for days in [near(&work)?, AHEAD_DAYS] {
        let book = diary::open(tx, settings, new.start, days, plan.hands, Some(&plan.vehicle), except)?;
        let moving = book.moving(settings, &work, new.may_move);
        let diary = book.diary(Others::Count)?;
        if let Some(visit) = diary.visits(&orders, moving).at(new.bay.as_str(), new.start) {
            let order = orders.get(visit.order).ok_or_else(|| Fail::unexpected("a visit by no order"))?;
            let wrong = |broken: BrokenVisit| Fail::unexpected(format!("a place that was found: {broken:?}"));
            diary.check_visit(order, moving, &visit).map_err(wrong)?;
            let open = book.timetable.open_time(visit.last_bay());
            return Ok((visit, open));
        }
        let ideal = book.diary(Others::Ignored)?.visits(&orders, moving).at(new.bay.as_str(), new.start);
        if days == AHEAD_DAYS || ideal.is_some() {
            let obstacle = why_not(&book, &work, moving, new)?;
            let asked = Asked { settings, book: &book, work: &work, orders: &orders, moving };
            let figures =
                if obstacle.may_pass() { asked.figures_at(tx, new.bay.as_str(), new.start)? } else { Vec::new() };
            return Err(refusal(&settings.zone, new, obstacle).with_figures(figures).into());
        }
    }
    Err(Fail::unexpected("no horizon was searched"))
}

/// Reason why the work doesn't fit there: the time is taken, or it never fits.
fn why_not(book: &Book, work: &WorkPlan, moving: Moving, new: &NewBooking) -> Done<Obstacle> {
    let (bays, technicians) = (book.bay_time(Others::Ignored), book.people_time(Others::Ignored));
    let wanted = PlaceWanted {
        horizon: book.horizon,
        bays: &bays,
        technicians: &technicians,
        held: &book.bays,
        car: book.car(),
        work,
        moving,
        bay: new.bay.as_str(),
        start: new.start,
    };
    Ok(wanted.why_not()?)
}

/// The refusal for that reason; if the time is taken, it says where to ask for free times.
fn no_place(zone: &Zone, new: &NewBooking, obstacle: Obstacle) -> Fail {
    refusal(zone, new, obstacle).into()
}

fn refusal(zone: &Zone, new: &NewBooking, obstacle: Obstacle) -> Refused {
    let from = UtcTime::from_minute(new.start);
    let two = if new.hands == Hands::Two { "&hands=TWO" } else { "" };
    let moves = if new.may_move { "&may_move=true" } else { "" };
    let again = format!("Ask for times again at /v1/quotes/{}/availability?from={from}{two}{moves}.", new.quote);
    Refused::of(&NoPlace::new(obstacle, zone, &again))
}

fn raced_quote() -> Fail {
    Refused::conflict("already-booked", "Someone else booked this quote just now. Read its booking.").into()
}
