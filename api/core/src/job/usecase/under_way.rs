//! Work on several cars at once, read in a few queries whatever their number.

use std::collections::BTreeMap;

use baywright_domain::id::{BookingId, JobId, PlanId};
use baywright_domain::job;
use baywright_domain::plan::Rest;
use baywright_domain::time::Minutes;

use super::forecast::Forecast;
use super::{store, technician};
use crate::booking::usecase::Booking;
use crate::platform::fail::{Done, Fail};
use crate::platform::tx::Tx;
use crate::{booking, plan};

/// A job as the rules need it.
#[derive(Debug, Clone)]
pub struct Working {
    /// The job's id.
    pub id: JobId,
    /// The plan that its steps come from.
    pub plan: PlanId,
    /// Its steps with the work on them.
    pub rules: job::Job,
}

/// A car whose work is under way.
#[derive(Debug, Clone)]
pub struct UnderWay {
    /// The job.
    pub job: Working,
    /// The booking whose work it is.
    pub booking: Booking,
    /// Time when it will be done, as expected now.
    pub forecast: Forecast,
}

/// Jobs of the given bookings, by booking; cars that have not come have none.
pub fn working(tx: &mut Tx<'_>, bookings: &[BookingId]) -> Done<BTreeMap<BookingId, Working>> {
    if bookings.is_empty() {
        return Ok(BTreeMap::new());
    }
    let heads = store::of_bookings(tx, bookings)?;
    let ids: Vec<JobId> = heads.iter().map(|head| head.id.clone()).collect();
    let mut rules = store::rules(tx, &ids)?;
    let each = heads.into_iter().map(|head| {
        let rules = rules.remove(head.id.as_str()).unwrap_or_else(|| job::Job { steps: Vec::new() });
        (head.booking, Working { id: head.id, plan: head.plan, rules })
    });
    Ok(each.collect())
}

/// Work on the given cars and the expected finish of each, in the order of the bookings; bookings without a job are
/// left out. Technicians see only their own jobs: those that they are booked for or have worked on.
pub fn under_way(tx: &mut Tx<'_>, bookings: Vec<Booking>) -> Done<Vec<UnderWay>> {
    let ids: Vec<BookingId> = bookings.iter().map(|booking| booking.id.clone()).collect();
    let mut jobs = working(tx, &ids)?;
    let mut cars: Vec<(Booking, Working)> =
        bookings.into_iter().filter_map(|booking| jobs.remove(&booking.id).map(|job| (booking, job))).collect();
    if let Some(me) = technician(tx) {
        let booked = booking::usecase::pieces_of(tx, &ids)?;
        cars.retain(|(booking, job)| {
            let was_at_it = job.rules.steps.iter().flat_map(|step| &step.pieces).any(|piece| piece.who == me);
            was_at_it || booked.iter().any(|(of, piece)| *of == booking.id && piece.person == me)
        });
    }
    let plans: Vec<PlanId> = cars.iter().map(|(_, job)| job.plan.clone()).collect();
    let plans: BTreeMap<PlanId, plan::usecase::Plan> =
        plan::usecase::of_ids(tx, &plans)?.into_iter().map(|plan| (plan.id.clone(), plan)).collect();
    let mut rests: Vec<Rest> = Vec::with_capacity(cars.len());
    for (booking, job) in &cars {
        let plan = plans.get(&job.plan).ok_or_else(|| Fail::unexpected(format!("job {} has no plan", job.id)))?;
        rests.push(booking.work(plan)?.rest(&job.rules, tx.now.datetime()));
    }
    let asked: Vec<(&Booking, &Rest)> = cars.iter().map(|(booking, _)| booking).zip(&rests).collect();
    let expected = booking::usecase::done_by_each(tx, &asked)?;
    let lefts: Vec<Minutes> = rests.iter().map(Rest::minutes).collect();
    let all = cars.into_iter().zip(lefts).zip(expected).map(|(((booking, job), left), expected)| {
        let forecast = match booking.ready_at {
            // The forecast of a single job does the same.
            Some(ready) => Forecast::of_ready(&booking, ready),
            None => Forecast { finish: booking.place.finishes, promised: booking.place.promised, expected, left },
        };
        UnderWay { job, booking, forecast }
    });
    Ok(all.collect())
}
