//! Forecast of the time when a car in its bay will be done, by the progress of its steps.
//!
//! A forecast does not change the diary. The remaining work is scheduled again at each request. Moving promised times
//! is a decision, which a rescheduling prepares and an owner makes.

use baywright_domain::id::JobId;
use baywright_domain::plan::WorkPlan;
use baywright_domain::time::{Minute, Minutes};

use super::{Job, of_booking, show};
use crate::booking::usecase::Booking;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::{booking, plan};

/// Time by which a car in its bay would be promised if its work followed that plan instead: the remaining work is
/// scheduled from now on as in [`forecast`], and the promise has the margin of the current one and is rounded like
/// every promise. It is never earlier than the current one. `None` if no time for the work is found within the period
/// that the diary covers.
pub fn ready_with(tx: &mut Tx<'_>, booking: &Booking, work: &WorkPlan) -> Done<Option<Minute>> {
    let Some(job) = of_booking(tx, &booking.id)? else { return Ok(Some(booking.place.promised)) };
    match rest_done(tx, booking, &job, work)? {
        Some(done) => booking::usecase::promise_if_done(tx, booking, done),
        None => Ok(None),
    }
}

/// Time when a car in its bay would be done if its work followed that plan instead; `None` if no time for the work is
/// found within the period that the diary covers.
pub fn done_with(tx: &mut Tx<'_>, booking: &Booking, work: &WorkPlan) -> Done<Option<Minute>> {
    match of_booking(tx, &booking.id)? {
        Some(job) => rest_done(tx, booking, &job, work),
        None => Ok(Some(booking.place.finishes)),
    }
}

fn rest_done(tx: &mut Tx<'_>, booking: &Booking, job: &Job, work: &WorkPlan) -> Done<Option<Minute>> {
    let rest = booking.with_moves(work.clone().with(booking.hands)).rest(&job.rules(), tx.now.datetime());
    booking::usecase::done_by(tx, booking, &rest)
}

/// Time when a car will be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Forecast {
    /// Time until which the diary keeps the bay for it.
    pub finish: Minute,
    /// Finish that the customer was promised.
    pub promised: Minute,
    /// Expected finish; `None` if no time for the rest is found within the period that the diary covers.
    pub expected: Option<Minute>,
    /// Remaining minutes of work, including setting up and clearing up.
    pub left: Minutes,
}

impl Forecast {
    /// Forecast of a car that is ready: its finish is the time when it became ready.
    pub(super) fn of_ready(booking: &Booking, ready: UtcTime) -> Self {
        let expected = Some(ready.plus_ms(59_999).minute());
        Self { finish: booking.place.finishes, promised: booking.place.promised, expected, left: Minutes::ZERO }
    }

    /// Delay after the promise, in minutes; `None` if the expected finish is unknown.
    pub fn late(&self) -> Option<Minutes> {
        self.beyond(self.promised)
    }

    /// Minutes by which it will stay in its bay longer than the diary keeps that free; `None` if the expected finish is
    /// unknown.
    pub fn over(&self) -> Option<Minutes> {
        self.beyond(self.finish)
    }

    fn beyond(&self, moment: Minute) -> Option<Minutes> {
        let late = self.expected?.get().saturating_sub(moment.get());
        Some(Minutes::new(u32::try_from(late).unwrap_or_default()))
    }
}

/// Schedules the rest of the steps' budgets, including signed variations, from now on in the car's bay: within the
/// hours of the bay, less its closures, and of people who can do it and have no other car then, with as many people as
/// were booked. Cars that have the bay booked afterwards don't count, so the result can be later than the diary has
/// room for. A step that dries without holding the whole car delays only the steps after it. For a car that is ready or
/// handed over, it returns when the work was done.
pub fn forecast(tx: &mut Tx<'_>, id: &JobId) -> Done<Forecast> {
    let job = show(tx, id)?;
    forecast_of(tx, &job)
}

/// The same, for any caller.
pub(super) fn forecast_of(tx: &mut Tx<'_>, job: &Job) -> Done<Forecast> {
    let (finish, promised) = (job.booking.place.finishes, job.booking.place.promised);
    if let Some(ready) = job.booking.ready_at {
        return Ok(Forecast::of_ready(&job.booking, ready));
    }
    let rules = job.rules();
    let plan = plan::usecase::show(tx, &job.plan)?;
    let rest = job.booking.work(&plan)?.rest(&rules, tx.now.datetime());
    let expected = booking::usecase::done_by(tx, &job.booking, &rest)?;
    Ok(Forecast { finish, promised, expected, left: rest.minutes() })
}
