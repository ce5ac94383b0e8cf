//! Lists of jobs.

use std::collections::BTreeMap;

use baywright_domain::id::{BookingId, JobId, PersonId};
use baywright_domain::job::{JobState, StepState};

use super::{store, technician};
use crate::booking;
use crate::booking::usecase::Booking;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::tx::Tx;

/// Filter of the list of jobs.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to the jobs of the signed-in person; a technician sees no others in any case.
    pub mine: bool,
    /// Limits the list to cars that are in their bay and not ready.
    pub open: bool,
}

/// A job in a list.
#[derive(Debug, Clone)]
pub struct Listed {
    /// The job's id.
    pub id: JobId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// The booking whose work it is.
    pub booking: Booking,
    /// The states of its steps, in order.
    pub steps: Vec<StepState>,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

impl Listed {
    /// Number of steps that are finished or removed.
    pub fn settled(&self) -> usize {
        self.steps.iter().filter(|state| state.is_settled()).count()
    }

    /// State of the job, as [`baywright_domain::job::Job::state`] defines it.
    pub fn state(&self) -> JobState {
        JobState::of(self.steps.iter().copied())
    }
}

/// One page of the shop's jobs, newest first.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Listed>> {
    let mine = wanted.mine.then(|| tx.actor.person().cloned()).flatten();
    let who: Option<PersonId> = technician(tx).or(mine);
    let page = paging.page(store::page(tx, who.as_ref(), wanted.open, paging)?, |job| Mark::of_id(job.id.as_str()));
    let jobs: Vec<JobId> = page.items.iter().map(|job| job.id.clone()).collect();
    let wanted: Vec<BookingId> = page.items.iter().map(|job| job.booking.clone()).collect();
    let mut steps = store::states(tx, &jobs)?;
    let bookings = booking::usecase::of_ids(tx, &wanted)?;
    let mut bookings: BTreeMap<BookingId, Booking> = bookings.into_iter().map(|one| (one.id.clone(), one)).collect();
    let mut items = Vec::with_capacity(page.items.len());
    for head in page.items {
        let booking = bookings.remove(&head.booking);
        items.push(Listed {
            booking: booking.ok_or_else(|| Fail::unexpected(format!("job {} has no booking", head.id)))?,
            steps: steps.remove(head.id.as_str()).unwrap_or_default(),
            id: head.id,
            version: head.version,
            created_at: head.created_at,
            updated_at: head.updated_at,
        });
    }
    Ok(Slice { items, next: page.next, prev: page.prev, total: page.total })
}
