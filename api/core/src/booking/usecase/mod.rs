//! Use cases of bookings.

mod appointment;
mod arrival;
mod booked;
mod broken;
mod diary;
mod explain;
mod fit;
mod for_customer;
mod lapse;
mod letter;
mod list;
mod moves;
mod offer;
mod overrun;
mod place;
mod promise;
mod timetable;
mod undo;
mod unsigned;
mod week;
mod why;

use baywright_domain::booking::{BookingRefusal, BookingState};
use baywright_domain::id::{BayId, BookingId, CustomerId, PersonId, PlanId, QuoteId, VehicleId};
use baywright_domain::money::Money;
use baywright_domain::plan::{Hands, Rest, WorkPlan};
use baywright_domain::schedule::Bay;
use baywright_domain::time::{Interval, IntervalSet, Minute, Minutes};

use self::diary::Others;
use super::store;
use crate::plan::usecase::Plan;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::shop;

pub use arrival::{arrive, enter_bay, return_to_bay};
pub use booked::{BookedDays, booked_days};
pub use broken::{Breaks, BrokenBooking, broken_by, warn_of_broken, warn_of_still_broken};
pub use diary::AHEAD_DAYS;
pub use explain::Figured;
pub use fit::{Misfit, after_signing};
pub use for_customer::{calendar_file, times_to_choose};
pub use lapse::end_lapsed;
pub use letter::{remind, tell_misfit};
pub use list::{
    Wanted, day, fits, list, of_quote, of_quotes, pieces_of, seen_in, starting, starts_of, within, work_of,
};
pub use moves::{
    Destination, book, cancel, deposit_paid, deposit_received, hand_over, hold_longer, make_ready, no_show, relocate,
};
pub use offer::{MOST_OFFERS, Offer, Promised, Question, Suggestion, availability};
pub use overrun::agree_longer;
pub use place::{NewBooking, Wish, is_plainly_taken, make, not_before, warn_if_too_early};
pub use promise::promise_if_done;
pub use timetable::{Timetable, timetable, timetable_of};
pub use undo::{Last, leave_bay, nothing_to_undo, undo};
pub use unsigned::{ChoiceTimes, FirstTimes, first_time_of_choice, first_times, first_times_of_options};
pub use week::{
    MOST_DAYS, Movable, Move, Overrun, USUAL_DAYS, Unmoved, WeekBook, change_week, last_finish_of_car, week_book,
};
pub use why::Hindered;

/// A booking in its current state.
#[derive(Debug, Clone)]
pub struct Booking {
    /// The booking's id.
    pub id: BookingId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// The signed quote.
    pub quote: QuoteId,
    /// Id of the plan that the place was made for.
    pub plan: PlanId,
    /// Id of the customer.
    pub customer: CustomerId,
    /// Id of the vehicle.
    pub vehicle: VehicleId,
    /// State of the booking; a hold that has run out counts as cancelled.
    pub state: BookingState,
    /// Number of people its place was made for, at the steps of the plan that allow two.
    pub hands: Hands,
    /// Whether its place still fits the work that is agreed; other work may have been signed since it was booked.
    pub fits: bool,
    /// Time until which it is held; `None` if it is booked.
    pub hold_until: Option<UtcTime>,
    /// Bay, start and finish.
    pub place: Place,
    /// Time when it was agreed.
    pub booked_at: Option<UtcTime>,
    /// Time when the car came.
    pub arrived_at: Option<UtcTime>,
    /// Time when the work was declared done.
    pub ready_at: Option<UtcTime>,
    /// Time when the car was handed over.
    pub handed_over_at: Option<UtcTime>,
    /// Time when it was cancelled, recorded as a no-show, or its hold ran out.
    pub ended_at: Option<UtcTime>,
    /// Reason why it was cancelled.
    pub reason: Option<String>,
    /// Note of the desk.
    pub note: String,
    /// Agreed deposit, with tax.
    pub deposit: Option<Money>,
    /// Time when the deposit came.
    pub deposit_received_at: Option<UtcTime>,
    /// Names to be displayed with it.
    pub names: Names,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

impl Booking {
    /// State at that time: a hold that has run out counts as cancelled although its end is not stored yet.
    pub fn state_at(&self, now: UtcTime) -> BookingState {
        self.state.at(now.datetime(), self.hold_until.map(UtcTime::datetime))
    }

    /// Name of the car, such as make and model.
    pub fn car(&self) -> String {
        match (self.names.vehicle.as_str(), &self.names.registration) {
            ("", None) => "your vehicle".to_owned(),
            ("", Some(plate)) => plate.clone(),
            (name, None) => name.to_owned(),
            (name, Some(plate)) => format!("{name}, {plate}"),
        }
    }

    /// The work of a plan as it is done for this booking: by its number of people, in the order that its place follows,
    /// and with the minutes of its moves from bay to bay.
    pub fn work(&self, plan: &Plan) -> Done<WorkPlan> {
        Ok(self.with_moves(self.ordered_work(plan)?))
    }

    /// The work with the minutes of this booking's moves from bay to bay.
    pub fn with_moves(&self, work: WorkPlan) -> WorkPlan {
        let moves = self.place.stays.iter().filter_map(|stay| stay.begins_with.as_deref());
        work.moved_before(moves, self.place.move_minutes)
    }

    /// The same without the minutes of moves. A later plan than that of the place is followed in its own order.
    pub(super) fn ordered_work(&self, plan: &Plan) -> Done<WorkPlan> {
        let order = if plan.id == self.plan { self.place.order } else { 0 };
        Ok(plan.clone().with(self.hands)?.work()?.in_order(order))
    }

    /// A refused move in words that fit a car that has come but is not in its bay yet, too.
    fn refused(&self, refused: impl Into<BookingRefusal>) -> BookingRefusal {
        let refused = refused.into();
        if self.place.standing { refused } else { refused.outside() }
    }
}

/// Bays with the time for which a car has them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The bay that the car is in, or that it enters first.
    pub bay: BayId,
    /// Start of the stay in the first bay.
    pub starts: Minute,
    /// Time when the work is done by its budgets, and the last bay is free.
    pub finishes: Minute,
    /// Finish that the customer is promised: the end of the placement plus the margin for longer work.
    pub promised: Minute,
    /// Whether the car is in the bay now: it has come and was not driven out.
    pub standing: bool,
    /// The bays one after another, from start to finish; there is at least one.
    pub stays: Vec<Stay>,
    /// Index of the order in which the steps are done, among the orders of the plan; 0 for its own one.
    pub order: usize,
    /// Minutes of each move to another bay.
    pub move_minutes: Minutes,
}

impl Place {
    /// The bay that the diary has for the car at that time: the first one before its start, and the last one after its
    /// finish.
    pub fn bay_at(&self, at: Minute) -> &BayId {
        let stay = self.stays.iter().rfind(|stay| stay.from <= at).or(self.stays.first());
        stay.map_or(&self.bay, |stay| &stay.bay)
    }

    /// Whether the car is in that bay at any time of its place.
    pub fn has(&self, bay: &BayId) -> bool {
        self.bay == *bay || self.stays.iter().any(|stay| stay.bay == *bay)
    }
}

/// A car in one bay.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stay {
    /// The bay.
    pub bay: BayId,
    /// Time when the car takes it.
    pub from: Minute,
    /// Time when the car leaves it; the bay is free from this minute on.
    pub to: Minute,
    /// Code of the step with which the car is moved into this bay; `None` for the first one.
    pub begins_with: Option<String>,
}

/// Current names of the records that a booking refers to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Names {
    /// Name of the customer.
    pub customer: String,
    /// Name of the car, such as make and model.
    pub vehicle: String,
    /// Make and model, without the colour.
    pub model: String,
    /// Registration of the car.
    pub registration: Option<String>,
}

/// Piece of work on a step: the person and the time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attendance {
    /// The step's code.
    pub step: String,
    /// Index of the step in the plan, from 0.
    pub place: u32,
    /// Id of the person.
    pub person: PersonId,
    /// Whether they help the one who leads, at a step for two.
    pub helps: bool,
    /// Time of the work.
    pub when: Interval,
}

/// A booking with its pieces of work.
#[derive(Debug, Clone)]
pub struct Detailed {
    /// The booking.
    pub booking: Booking,
    /// The pieces, by step and time.
    pub pieces: Vec<Attendance>,
}

/// The booking with that id.
pub fn show(tx: &mut Tx<'_>, id: &BookingId) -> Done<Booking> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("booking"))?)
}

/// The bookings with those ids, in no order; unknown ids are left out.
pub fn of_ids(tx: &mut Tx<'_>, ids: &[BookingId]) -> Done<Vec<Booking>> {
    Ok(store::of_ids(tx, ids)?)
}

/// Whether the person works on any step of the booking, as planned now or in the past.
pub fn is_booked_for(tx: &mut Tx<'_>, id: &BookingId, who: &PersonId) -> Done<bool> {
    Ok(store::attendance_of(tx, id)?.iter().any(|piece| piece.person == *who))
}

/// Time when a bay is open from a minute on, for as long as the diary looks ahead.
pub fn bay_hours(tx: &mut Tx<'_>, bay: &BayId, from: Minute) -> Done<IntervalSet> {
    Ok(timetable(tx, from, from + Minutes::new(AHEAD_DAYS * 1440))?.open_time(bay.as_str()))
}

/// Time when the remaining work of a car would be done in the bays that it is in and still comes to: other people's
/// confirmed time and the bays' closures count, the bays' other bookings do not.
pub fn done_by(tx: &mut Tx<'_>, booking: &Booking, rest: &Rest) -> Done<Option<Minute>> {
    let settings = shop::usecase::settings(tx)?;
    let book = diary::open(tx, &settings, rest.from, AHEAD_DAYS, booking.hands, None, Some(&booking.id))?;
    done_in(&book, booking, rest)
}

/// Like [`done_by`] for several cars, with one reading of the diary; in the order of the cars.
pub fn done_by_each(tx: &mut Tx<'_>, cars: &[(&Booking, &Rest)]) -> Done<Vec<Option<Minute>>> {
    let Some(from) = cars.iter().map(|(_, rest)| rest.from).min() else { return Ok(Vec::new()) };
    let settings = shop::usecase::settings(tx)?;
    let book = diary::open(tx, &settings, from, AHEAD_DAYS, Hands::One, None, None)?;
    let until = book.horizon.span().to();
    cars.iter()
        .map(|(booking, rest)| match () {
            // A cure that lasts longer than the diary looks ahead is not placed.
            () if rest.from >= until => Ok(None),
            () => done_in(&book.without(booking), booking, rest),
        })
        .collect()
}

fn done_in(book: &diary::Book, booking: &Booking, rest: &Rest) -> Done<Option<Minute>> {
    let (bays, people) = (book.bay_time(Others::Ignored), book.people_time(Others::Count));
    let Some(mine) = bay_of_rest(bays, &booking.place, rest.from) else { return Ok(None) };
    Ok(rest.done_in(&mine, &people, book.horizon.span().to())?)
}

/// The bays of a car from a time on as if they were one, which is open while any of them is.
fn bay_of_rest(bays: Vec<Bay>, place: &Place, from: Minute) -> Option<Bay> {
    let comes_to = |bay: &Bay| place.stays.iter().any(|stay| stay.to > from && stay.bay.as_str() == bay.code);
    let mut mine = bays.into_iter().filter(|bay| bay.code == place.bay.as_str() || comes_to(bay));
    let first = mine.next()?;
    Some(mine.fold(first, |all, bay| Bay { open: all.open.union(&bay.open), held: all.held.union(&bay.held), ..all }))
}

/// The booking with that id, with its pieces of work.
pub fn detailed(tx: &mut Tx<'_>, id: &BookingId) -> Done<Detailed> {
    let booking = show(tx, id)?;
    let pieces = store::attendance_of(tx, id)?;
    Ok(Detailed { booking, pieces })
}

/// Number of a customer's cars that have a place held, are booked, in the bay or ready.
pub fn open_of(tx: &mut Tx<'_>, customer: &CustomerId) -> Done<usize> {
    Ok(store::open_of(tx, customer)?)
}

/// Data that this feature holds about a customer. Places and times stay; notes and reasons are deleted.
pub const HOLDER: Holder = Holder {
    feature: "booking",
    held: &[
        Held::of_customer("booking"),
        Held::of_row("placement", "booking_id", "booking"),
        Held::of_row("booking_stay", "booking_id", "booking"),
        Held::of_row("attendance", "booking_id", "booking"),
    ],
    forget: |tx, leaving| {
        store::blank(tx, &leaving.customer)?;
        Ok(Left::default())
    },
};
