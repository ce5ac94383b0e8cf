//! Use cases of jobs.

mod actions;
mod begin;
mod correct;
mod forecast;
mod handover;
mod lesson;
mod list;
mod look;
mod note;
mod step;
mod under_way;
mod undo;

use std::collections::BTreeMap;

use baywright_domain::id::{BayId, BookingId, JobId, JobStepId, PersonId, PlanId};
use baywright_domain::job::{self, JobState, JobStep, Piece, StepMove};
use baywright_domain::menu::{Code, WaitWhen};
use baywright_domain::time::Minutes;
use rust_decimal::Decimal;

use super::store;
use crate::booking;
use crate::booking::usecase::Booking;
use crate::people;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::identity::Role;
use crate::platform::personal::{Held, Holder, Left};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;

pub use actions::{Action, MOST_ACTIONS, Outcome, act};
pub use begin::{after_signing, arrive};
pub use correct::{correct, end_wait};
pub use forecast::{Forecast, done_with, forecast, ready_with};
pub use handover::{Checked, Handover, NewHandover, hand_over, handover_of, make_ready};
pub use list::{Listed, Wanted, list};
pub use look::{Billing, odometer, warn_of_billing};
pub use note::{NewNote, Note, add_note, notes};
pub use step::{Finish, Said, finish, remove, start, stop};
pub use under_way::{UnderWay, Working, under_way, working};
pub use undo::{undo, undo_booking};

/// The current state of a job.
#[derive(Debug, Clone)]
pub struct Job {
    /// The job's id.
    pub id: JobId,
    /// Version, which every change of the job or its steps raises by one.
    pub version: i64,
    /// The plan that its steps come from.
    pub plan: PlanId,
    /// The booking whose work it is.
    pub booking: Booking,
    /// The steps, in the plan's order.
    pub steps: Vec<Step>,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// A step of a job.
#[derive(Debug, Clone)]
pub struct Step {
    /// The step's id.
    pub id: JobStepId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Position of the step in the order.
    pub place: u32,
    /// Its budget: minutes of attended work.
    pub budget: Minutes,
    /// Minimum wait after it.
    pub wait: Minutes,
    /// Times that count for the wait.
    pub wait_when: WaitWhen,
    /// The step as the rules know it.
    pub step: JobStep,
    /// Products that were used, with amounts.
    pub used: BTreeMap<Code, Decimal>,
    /// Latest move that can be undone.
    pub last_move: Option<StepMove>,
}

impl Job {
    /// The job as the rules know it.
    pub fn rules(&self) -> job::Job {
        job::Job { steps: self.steps.iter().map(|step| step.step.clone()).collect() }
    }

    /// State of the job.
    pub fn state(&self) -> JobState {
        self.rules().state()
    }

    /// Its step of that code.
    pub fn step(&self, code: &Code) -> Option<&Step> {
        self.steps.iter().find(|step| step.step.code == *code)
    }

    /// The bay in which the car has to be for a step: that of the stay to which the step belongs. A car that was moved
    /// on for a later step stays there.
    pub fn bay_for(&self, code: &Code) -> &BayId {
        let begun = self.steps.iter().filter(|step| !step.pieces().is_empty()).map(|step| &step.step.code);
        self.bay_after(begun.chain([code]))
    }

    /// The bay of the last stay to which any of these steps belongs. A stay begins with a step of its own, and steps that
    /// were added later belong to the stay of the step before them.
    fn bay_after<'c>(&self, codes: impl Iterator<Item = &'c Code>) -> &BayId {
        let place = |code: &str| self.steps.iter().position(|step| step.step.code.as_str() == code);
        let last = codes.filter_map(|code| place(code.as_str())).max();
        let stays = &self.booking.place.stays;
        let begun = |first: &String| place(first).is_some_and(|first| Some(first) <= last);
        let stay = stays.iter().rfind(|stay| stay.begins_with.as_ref().is_none_or(begun));
        stay.map_or(&self.booking.place.bay, |stay| &stay.bay)
    }
}

impl Step {
    /// The pieces of work, the earliest first.
    pub fn pieces(&self) -> &[Piece] {
        &self.step.pieces
    }
}

/// The job with that id, if the signed-in person may see it.
pub fn show(tx: &mut Tx<'_>, id: &JobId) -> Done<Job> {
    let job = whole(tx, id)?;
    own(tx, &job)?;
    Ok(job)
}

/// The job of a booking, if the car has come.
pub fn of_booking(tx: &mut Tx<'_>, booking: &BookingId) -> Done<Option<Job>> {
    match store::of_booking(tx, booking)? {
        None => Ok(None),
        Some(id) => Ok(Some(whole(tx, &id)?)),
    }
}

/// Whether work on a booking's car has begun, or some of it was removed.
pub fn has_begun(tx: &mut Tx<'_>, booking: &BookingId) -> Done<bool> {
    Ok(of_booking(tx, booking)?.is_some_and(|job| job.state() != JobState::Waiting))
}

fn whole(tx: &mut Tx<'_>, id: &JobId) -> Done<Job> {
    let row = store::find(tx, id)?.ok_or_else(|| Refused::not_found("job"))?;
    let booking = booking::usecase::show(tx, &row.booking)?;
    let steps = store::steps(tx, id)?;
    Ok(Job {
        id: row.id,
        version: row.version,
        plan: row.plan,
        booking,
        steps,
        created_at: row.created_at,
        updated_at: row.updated_at,
    })
}

/// Refuses a technician at somebody else's job: a job is their own if they are booked for it or have worked on it.
fn own(tx: &mut Tx<'_>, job: &Job) -> Done<()> {
    let Some(who) = technician(tx) else { return Ok(()) };
    let was_at_it = job.steps.iter().flat_map(Step::pieces).any(|piece| piece.who == who);
    if was_at_it || booking::usecase::is_booked_for(tx, &job.booking.id, &who)? {
        return Ok(());
    }
    Err(Refused::not_allowed("This is a colleague's job. Ask the desk to book you for it.").into())
}

/// The signed-in person, if they are a technician and so see their own jobs only.
fn technician(tx: &Tx<'_>) -> Option<PersonId> {
    match tx.actor.role() {
        Some(Role::Technician) => tx.actor.person().cloned(),
        _ => None,
    }
}

/// The person who works: the signed-in one, or the one that the desk names.
fn doer(tx: &mut Tx<'_>, said: Option<&PersonId>) -> Done<PersonId> {
    let asking = tx.actor.person().cloned();
    match (said, asking) {
        (None, Some(me)) => Ok(me),
        (Some(who), Some(me)) if *who == me => Ok(me),
        (Some(who), _) if technician(tx).is_none() => match people::usecase::show(tx, who) {
            Err(Fail::Refused(_)) => {
                Err(Refused::field("/person_id", "no_such_person", "The shop has no person with this id.").into())
            }
            found => Ok(found?.id),
        },
        (Some(_), _) => {
            Err(Refused::not_allowed("You can only record your own work. The desk can record a colleague's.").into())
        }
        (None, None) => Err(Refused::field("/person_id", "missing", "Say who did the work.").into()),
    }
}

/// The given photographs that a note shows.
pub fn shown(tx: &mut Tx<'_>, photos: &[String]) -> Done<Vec<String>> {
    Ok(store::shown(tx, photos)?)
}

/// Data that this feature holds about a customer. Steps and minutes stay; texts and photographs are deleted.
pub const HOLDER: Holder = Holder {
    feature: "job",
    held: &[
        Held::of_row("job", "booking_id", "booking"),
        Held::of_row("job_step", "job_id", "job"),
        Held::of_row("job_piece", "step_id", "job_step"),
        Held::of_row("job_use", "step_id", "job_step"),
        Held::of_row("job_move", "step_id", "job_step"),
        Held::of_row("job_note", "job_id", "job"),
        Held::of_row("handover", "booking_id", "booking"),
    ],
    forget: |tx, leaving| {
        store::blank(tx, &leaving.ids("job"))?;
        Ok(Left::default())
    },
};
