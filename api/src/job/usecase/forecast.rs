//! When a car in its bay will be done, as far as its steps are by now.

use baywright_domain::booking::BookingState;
use baywright_domain::id::JobId;
use baywright_domain::time::{Minute, Minutes};

use super::show;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::{booking, plan};

/// When a car will be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Forecast {
    /// As it stands in the diary.
    pub promised: Minute,
    /// As it looks now; `None` where the rest has no time within as long as the diary looks ahead.
    pub expected: Option<Minute>,
    /// Minutes of work that are left, with setting up and clearing up.
    pub left: Minutes,
}

impl Forecast {
    /// By how much it will be later than promised.
    pub fn late(&self) -> Minutes {
        let late = self.expected.map_or(0, |expected| expected.get().saturating_sub(self.promised.get()));
        Minutes::new(u32::try_from(late).unwrap_or_default())
    }
}

/// What is left of the steps' budgets, signed variations and all, is placed from now on in the bay where the car stands:
/// in the hours of the bay and of people who can do it and have no other car then. Cars that are promised the bay
/// afterwards don't count, so that it can be later than the diary has room for.
///
/// # Errors
/// 409 where the car is ready or gone.
pub fn forecast(tx: &mut Tx<'_>, id: &JobId) -> Done<Forecast> {
    let job = show(tx, id)?;
    if job.booking.state != BookingState::InBay {
        let detail = format!("This car is {}: nothing is left to do.", job.booking.state.label());
        return Err(Problem::conflict("wrong-state", detail).into());
    }
    let now = tx.now.datetime();
    let rules = job.rules();
    // What was finished last may still dry or cure.
    let clear = rules.steps.iter().filter_map(|step| step.clear_from).max().map(UtcTime::from);
    let from = clear.map_or(tx.now, |clear| clear.max(tx.now)).plus_ms(59_999).minute();
    let promised = job.booking.place.finishes;
    let Some(rest) = plan::usecase::show(tx, &job.plan)?.work()?.rest(&rules, now) else {
        return Ok(Forecast { promised, expected: Some(from), left: Minutes::ZERO });
    };
    let left = rest.steps().iter().fold(Minutes::ZERO, |sum, step| sum + step.minutes);
    Ok(Forecast { promised, expected: booking::usecase::done_by(tx, &job.booking, &rest, from)?, left })
}
