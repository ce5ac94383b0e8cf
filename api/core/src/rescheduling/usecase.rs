//! Computes reschedulings, stores them and accepts them.
//!
//! **The search runs outside any transaction,** on data that was read before, so that no connection is held during
//! seconds of search. Accepting a rescheduling checks every place again in one transaction: nothing stored is trusted.
//!
//! **Each booking keeps its order of steps and its number of people.** Cars change bays as in the search for one job: if
//! no bay has everything that the work needs, or if their place has moves already. A quote's work is done in the order
//! that would be finished first if no booking could move.
//!
//! **Cars with several bookings keep their places,** since the search doesn't know that a car is in only one bay at a
//! time. The rescheduling names these bookings (`unmoved`), and says if one is no longer possible. The desk can move such
//! a booking by itself, with the exact search for one job.

use std::mem;
use std::num::NonZeroU32;
use std::time::{Duration, Instant};

use baywright_domain::id::{BookingId, QuoteId, ReschedulingId, VehicleId};
use baywright_domain::rescheduling::{ReschedulingMove, ReschedulingState};
use baywright_domain::schedule::stays::Visit;
use baywright_domain::schedule::week::{Answer, Budget, Job, Problem, Week, week};
use baywright_domain::time::Minute;
use serde_json::json;

use super::because::Names;
use super::kept::{OverrunForm, RescheduledJobForm, RescheduledStepForm, RescheduledTimeForm, UnmovedForm, WeekForm};
use super::store;
use crate::booking::usecase::{self as booking, Movable, Move, Overrun, WeekBook};
use crate::plan;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::kept::Moment;
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};
use crate::quote;

/// Time limit of the search.
const PATIENCE: Duration = Duration::from_secs(4);

/// Maximum number of jobs that are placed at once.
const MOST_JOBS: usize = 500;

/// A kept rescheduling.
#[derive(Debug, Clone)]
pub struct Rescheduling {
    /// The rescheduling's id.
    pub id: ReschedulingId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// State of the rescheduling.
    pub state: ReschedulingState,
    /// The jobs with their places.
    pub week: WeekForm,
    /// Time when it was computed.
    pub created_at: UtcTime,
    /// Time when the diary was changed to it.
    pub accepted_at: Option<UtcTime>,
}

/// A signed quote that is to be placed too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Another {
    /// The quote.
    pub quote: QuoteId,
    /// Time when the car can be there.
    pub from: Option<Minute>,
    /// Time when it is wished to be done.
    pub due: Option<Minute>,
    /// Time when it must be done.
    pub latest: Option<Minute>,
    /// Weight of each minute of lateness.
    pub weight: NonZeroU32,
}

/// Request for a rescheduling.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// Number of days that are searched.
    pub days: u32,
    /// More cars.
    pub others: Vec<Another>,
    /// Cars that stay longer.
    pub overruns: Vec<Overrun>,
}

/// A request with the diary that it needs.
#[derive(Debug)]
pub struct Asked {
    problem: Problem,
    /// The jobs of the problem, in its order.
    jobs: Vec<Whose>,
    overruns: Vec<OverrunForm>,
    unmoved: Vec<UnmovedForm>,
    names: Names,
}

/// Origin of a job: a booking that may move, or a quote without a booking.
#[derive(Debug)]
enum Whose {
    Booked(Box<Movable>),
    /// The quote, and the order of its plan.
    Other(QuoteId, usize),
}

/// Result of the search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Thought {
    /// All jobs have a place.
    Placed(WeekForm),
    /// These don't fit.
    Unplaced {
        /// Their quotes.
        quotes: Vec<String>,
        /// Whether fewer can't be left out.
        proven: bool,
    },
}

/// Reads the data for the search.
///
/// # Errors
/// `Invalid` if a quote is not the shop's, not signed or already booked, or an overrun is invalid.
pub fn ask(tx: &mut Tx<'_>, question: &Question) -> Done<Asked> {
    let cars = cars(tx, &question.others)?;
    let mut book = booking::week_book(tx, question.days, &question.overruns, &cars)?;
    let span = book.diary.horizon().span();
    let mut names = Names::read(tx, &book.longer)?;
    let (mut jobs, mut whose) = (Vec::new(), Vec::new());
    for movable in mem::take(&mut book.movable) {
        names.booked(&movable.booking);
        let told = movable.visit.clone();
        jobs.push(Job {
            code: movable.booking.id.to_string(),
            order: movable.order.clone(),
            moving: movable.moving,
            // A customer who was told a time brings the car then, and not before.
            arrives: told.start.max(span.from()),
            due: told.finish,
            weight: NonZeroU32::MIN,
            latest: None,
            promised: Some(told),
        });
        whose.push(Whose::Booked(Box::new(movable)));
    }
    for (at, other) in question.others.iter().enumerate() {
        let (job, order) = another(tx, at, other, &book)?;
        jobs.push(job);
        names.quoted(tx, &other.quote)?;
        whose.push(Whose::Other(other.quote.clone(), order));
    }
    if jobs.len() > MOST_JOBS {
        let detail = format!("There are more than {MOST_JOBS} jobs in those days. Choose fewer days.");
        return Err(Refused::field("/days", "too_many", detail).into());
    }
    let overruns = question.overruns.iter().map(|overrun| OverrunForm {
        booking_id: overrun.booking.to_string(),
        finish: Moment(UtcTime::from_minute(overrun.finish)),
    });
    let unmoved = book.unmoved.iter();
    let unmoved = unmoved.map(|one| UnmovedForm { booking_id: one.booking.to_string(), broken: one.broken });
    Ok(Asked {
        problem: Problem::new(book.diary, jobs)?,
        jobs: whose,
        overruns: overruns.collect(),
        unmoved: unmoved.collect(),
        names,
    })
}

/// The cars of those quotes.
///
/// # Errors
/// `Invalid` if two quotes are for one car: it can't be in two bays at once, which the search doesn't know.
fn cars(tx: &mut Tx<'_>, others: &[Another]) -> Done<Vec<VehicleId>> {
    let mut cars = Vec::with_capacity(others.len());
    for (at, other) in others.iter().enumerate() {
        // An unknown quote is refused when its plan is read.
        let Some(quote) = quote::usecase::find(tx, &other.quote)? else { continue };
        if cars.contains(&quote.vehicle) {
            let detail = "Two of these quotes are for the same car. Place one of them first, then the other.";
            let pointer = format!("/quotes/{at}/quote_id");
            return Err(Refused::field(pointer, "same_car", detail).into());
        }
        cars.push(quote.vehicle);
    }
    Ok(cars)
}

/// The job of a quote without a booking, and the order of its plan.
fn another(tx: &mut Tx<'_>, at: usize, other: &Another, book: &WeekBook) -> Done<(Job, usize)> {
    let span = book.diary.horizon().span();
    let (from, until) = (span.from(), span.to());
    let fault = |code: &str, detail: String| Refused::field(format!("/quotes/{at}/quote_id"), code, detail);
    let plan = plan::usecase::of_quote(tx, &other.quote).map_err(|fail| match fail {
        Fail::Refused(problem) => fault("not_plannable", problem.detail().to_owned()).into(),
        other => other,
    })?;
    let first = booking::not_before(tx, &plan)?.map_or(from, |first| first.max(from));
    if let Some(booked) = booking::of_quote(tx, &other.quote)? {
        let detail = format!("This quote is already booked: {}. Leave it out.", booked.id);
        return Err(fault("booked", detail).into());
    }
    let arrives = other.from.map_or(first, |wished| wished.max(first));
    // The car's other bookings stay where they are, and it can't be in two bays at once.
    let elsewhere = booking::last_finish_of_car(tx, &plan.vehicle, (arrives, until))?;
    let arrives = elsewhere.map_or(arrives, |finish| finish.max(arrives));
    let work = plan.work()?;
    let (orders, moving) = (work.step_orders()?, book.moving(&work));
    let soonest = book.diary.visits(&orders, moving).earliest(arrives);
    let order = soonest.map_or(0, |visit| visit.order);
    let job = Job {
        code: other.quote.to_string(),
        order: work.in_order(order).step_order()?,
        moving,
        arrives,
        due: other.due.or(other.latest).unwrap_or(until),
        weight: other.weight,
        latest: other.latest,
        promised: None,
    };
    Ok((job, order))
}

/// Runs the search. It takes seconds, so it runs outside any transaction.
pub fn think(asked: &Asked) -> Thought {
    let begun = Instant::now();
    let stop = || begun.elapsed() > PATIENCE;
    let found = week(&asked.problem, &Budget { stop: Some(&stop), ..Budget::USUAL });
    match found {
        Answer::Placed(week) => Thought::Placed(asked.form(&week)),
        Answer::Unplaced { jobs, proven } => {
            let quote = |whose: &Whose| match whose {
                Whose::Booked(movable) => movable.booking.quote.to_string(),
                Whose::Other(quote, _) => quote.to_string(),
            };
            let known = asked.problem.jobs().iter().zip(&asked.jobs);
            let left = known.filter(|(job, _)| jobs.contains(&job.code)).map(|(_, whose)| quote(whose));
            Thought::Unplaced { quotes: left.collect(), proven }
        }
    }
}

impl Asked {
    fn form(&self, week: &Week) -> WeekForm {
        let span = self.problem.diary().horizon().span();
        let moment = |at: Minute| Moment(UtcTime::from_minute(at));
        let job = |(whose, (code, visit)): (&Whose, &(String, Visit))| {
            let moves = week.moved.iter().any(|moved| moved.job == *code);
            let because = self.problem.jobs().iter().find(|job| job.code == *code).and_then(|job| {
                let told = job.promised.as_ref()?;
                match week.cause(&self.problem, job) {
                    Some(cause) => Some(self.names.because(&cause, told)),
                    None => self.names.better(told, visit),
                }
            });
            placed(whose, visit, moves, because)
        };
        WeekForm {
            from: moment(span.from()),
            until: moment(span.to()),
            jobs: self.jobs.iter().zip(&week.visits).map(job).collect(),
            overruns: self.overruns.clone(),
            unmoved: self.unmoved.clone(),
            lateness_minutes: week.lateness,
            finish: week.finish.map(moment),
            bay_minutes: week.standing,
            possible_gain_minutes: week.gap(),
            proven: week.proven,
        }
    }
}

fn placed(whose: &Whose, visit: &Visit, promise_moves: bool, because: Option<String>) -> RescheduledJobForm {
    let (quote, booked, order) = match whose {
        Whose::Booked(movable) => (&movable.booking.quote, Some(movable.as_ref()), movable.visit.order),
        Whose::Other(quote, order) => (quote, None, *order),
    };
    RescheduledJobForm {
        quote_id: quote.to_string(),
        booking_id: booked.map(|movable| movable.booking.id.to_string()),
        booking_version: booked.map(|movable| movable.booking.version),
        before: booked.map(|movable| RescheduledTimeForm::of(&movable.visit)),
        after: RescheduledTimeForm::of(visit),
        order,
        promise_moves,
        because,
        steps: visit.steps.iter().map(RescheduledStepForm::of).collect(),
    }
}

/// Stores a rescheduling. The diary stays as it is.
pub fn keep(tx: &mut Tx<'_>, week: &WeekForm) -> Done<Rescheduling> {
    let id: ReschedulingId = ids::new();
    store::insert(tx, &id, week)?;
    let detail = json!({ "jobs": week.jobs.len(), "moves": week.moves() });
    record::write(tx, "rescheduling.made", ("rescheduling", id.as_str()), detail)?;
    show(tx, &id)
}

/// One page of reschedulings, newest first.
pub fn list(tx: &mut Tx<'_>, paging: &Paging) -> Done<Slice<Rescheduling>> {
    let found = store::page(tx, paging)?;
    Ok(paging.page(found, |rescheduling| Mark::of_id(rescheduling.id.as_str())))
}

/// The rescheduling with that id.
///
/// # Errors
/// `NotFound` if there is none.
pub fn show(tx: &mut Tx<'_>, id: &ReschedulingId) -> Done<Rescheduling> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("rescheduling"))?)
}

/// Changes the diary to a rescheduling, all of it or nothing; customers whose promises move are told. Bookings of its
/// days that still can't be kept are named in warnings.
///
/// # Errors
/// `Conflict` if it was accepted already, or the diary has changed since it was computed.
pub fn accept(tx: &mut Tx<'_>, id: &ReschedulingId, seen: Seen) -> Done<Rescheduling> {
    let rescheduling = show(tx, id)?;
    seen.check(rescheduling.version)?;
    let state = rescheduling.state.go(ReschedulingMove::Accept)?;
    let (mut moves, mut new) = (Vec::new(), Vec::new());
    for job in &rescheduling.week.jobs {
        let visit = job.visit()?;
        match (&job.booking_id, job.booking_version) {
            (Some(booking), Some(version)) => {
                let booking = BookingId::new(booking.as_str());
                moves.push(Move { booking, version, visit, tell: job.promise_moves });
            }
            (Some(_), None) | (None, _) => new.push((QuoteId::new(job.quote_id.as_str()), visit)),
        }
    }
    let overruns = rescheduling.week.overruns.iter().map(|overrun| Overrun {
        booking: BookingId::new(overrun.booking_id.as_str()),
        finish: overrun.finish.0.minute(),
    });
    let overruns: Vec<Overrun> = overruns.collect();
    let until = rescheduling.week.until.0.minute();
    booking::change_week(tx, &moves, &new, &overruns, tx.now.minute().days_until(until))?;
    booking::warn_of_still_broken(tx, until)?;
    store::accept(tx, &rescheduling, state)?;
    let detail = json!({ "moved": moves.len(), "booked": new.len(), "overran": overruns.len() });
    record::write(tx, "rescheduling.accepted", ("rescheduling", id.as_str()), detail)?;
    show(tx, id)
}
