//! When a car in its bay will be done, as far as its steps are by now.
//!
//! A forecast does not change the diary. The remaining work is placed anew at each question. To move promised times is
//! a decision, which a proposal prepares and an owner takes.

use baywright_domain::id::JobId;
use baywright_domain::plan::WorkPlan;
use baywright_domain::schedule::{Wait, WaitWhen};
use baywright_domain::time::{Minute, Minutes};

use super::{Job, of_booking, show};
use crate::booking::usecase::Booking;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::{booking, plan};

/// When a car in its bay would be ready for its customer if its work were that plan instead: what is left of it is placed
/// from now on as in [`forecast`], with the margin that its promise has now. It is never sooner than what was promised.
/// `None` if the work has no time within as long as the diary looks ahead.
pub fn ready_with(tx: &mut Tx<'_>, booking: &Booking, work: &WorkPlan) -> Done<Option<Minute>> {
    let Some(job) = of_booking(tx, &booking.id)? else { return Ok(Some(booking.place.promised)) };
    let rules = job.rules();
    let rest = work.clone().with(booking.hands).rest(&rules, tx.now.datetime());
    let Some(done) = booking::usecase::done_by(tx, booking, &rest)? else { return Ok(None) };
    let margin = booking.place.promised.get().saturating_sub(booking.place.finishes.get());
    let margin = Minutes::new(u32::try_from(margin).unwrap_or_default());
    let ready = if margin == Minutes::ZERO {
        Some(done)
    } else {
        // The margin is work: it passes while the bay is open.
        let open = booking::usecase::bay_hours(tx, &booking.place.bay, done)?;
        Wait { minutes: margin, when: WaitWhen::Open }.over(&open, done)
    };
    Ok(ready.map(|ready| ready.max(booking.place.promised)))
}

/// When a car will be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Forecast {
    /// Until when the diary keeps the bay for it.
    pub finish: Minute,
    /// What the customer was told.
    pub promised: Minute,
    /// As it looks now; `None` where the rest has no time within as long as the diary looks ahead.
    pub expected: Option<Minute>,
    /// Minutes of work that are left, with setting up and clearing up.
    pub left: Minutes,
}

impl Forecast {
    /// Of a car that is ready: when it became ready.
    pub(super) fn of_ready(booking: &Booking, ready: UtcTime) -> Self {
        let expected = Some(ready.plus_ms(59_999).minute());
        Self { finish: booking.place.finishes, promised: booking.place.promised, expected, left: Minutes::ZERO }
    }

    /// By how much it will be later than promised; `None` where nobody knows when it will be done.
    pub fn late(&self) -> Option<Minutes> {
        self.beyond(self.promised)
    }

    /// By how much it will stay in its bay longer than the diary keeps that free; `None` likewise.
    pub fn over(&self) -> Option<Minutes> {
        self.beyond(self.finish)
    }

    fn beyond(&self, moment: Minute) -> Option<Minutes> {
        let late = self.expected?.get().saturating_sub(moment.get());
        Some(Minutes::new(u32::try_from(late).unwrap_or_default()))
    }
}

/// What is left of the steps' budgets, signed variations and all, is placed from now on in the bay where the car stands:
/// in the hours of the bay, less its closures, and of people who can do it and have no other car then, by as many pairs of
/// hands as were booked. Cars that are promised the bay afterwards don't count, so that it can be later than the diary has
/// room for. What dries without holding the car delays only the steps after it. Of a car that is ready or gone it tells when
/// it was done.
pub fn forecast(tx: &mut Tx<'_>, id: &JobId) -> Done<Forecast> {
    let job = show(tx, id)?;
    forecast_of(tx, &job)
}

/// The same, whoever asks.
pub(super) fn forecast_of(tx: &mut Tx<'_>, job: &Job) -> Done<Forecast> {
    let (finish, promised) = (job.booking.place.finishes, job.booking.place.promised);
    if let Some(ready) = job.booking.ready_at {
        return Ok(Forecast::of_ready(&job.booking, ready));
    }
    let rules = job.rules();
    let work = plan::usecase::show(tx, &job.plan)?.work()?.with(job.booking.hands);
    let rest = work.rest(&rules, tx.now.datetime());
    let expected = booking::usecase::done_by(tx, &job.booking, &rest)?;
    Ok(Forecast { finish, promised, expected, left: rest.minutes() })
}
