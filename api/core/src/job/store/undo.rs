//! Moves that can be undone, and what undoing and correcting writes.

use std::collections::BTreeMap;

use baywright_domain::id::{BookingId, JobId, PersonId, PlanId};
use baywright_domain::job::{JobStep, Made, Piece, StepMove, StepState};
use diesel::prelude::*;
use serde::{Deserialize, Serialize};

use super::step::{insert_piece, set_row};
use crate::job::usecase::Step;
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::kept::Named;
use crate::platform::tx::Tx;
use crate::schema::{handover, job, job_move, job_piece, job_step, job_use};

/// The parts of a step that a move may change, as they were before the move. The reason for removing it is not
/// included, because no move but removing changes it, and because it may mention the customer.
#[derive(Serialize, Deserialize)]
struct Was {
    state: String,
    /// Person, start and finish of each piece, in milliseconds.
    pieces: Vec<(String, i64, Option<i64>)>,
    finished_at: Option<i64>,
    clear_from: Option<i64>,
    /// Whether the move brought the waiting car into its bay.
    #[serde(default)]
    entered: bool,
}

/// The last move of a step that isn't undone.
pub(in crate::job) struct Last {
    /// The step's version before it.
    pub(in crate::job) version: i64,
    /// Whether the move brought the waiting car into its bay.
    pub(in crate::job) entered: bool,
    /// The step as the rules know it.
    pub(in crate::job) made: Made,
}

fn ms(at: chrono::DateTime<chrono::Utc>) -> i64 {
    UtcTime::from(at).ms()
}

/// Stores that a move was made now, with the step as it was before. `entered` says whether the move brought the car
/// into its bay.
pub(in crate::job) fn push_move(tx: &mut Tx<'_>, before: &Step, what: StepMove, entered: bool) -> Stored<()> {
    let step = &before.step;
    let pieces = step.pieces.iter().map(|one| (one.who.to_string(), ms(one.from), one.until.map(ms)));
    let was = Was {
        state: step.state.stored().to_owned(),
        pieces: pieces.collect(),
        finished_at: step.finished_at.map(ms),
        clear_from: step.clear_from.map(ms),
        entered,
    };
    let id: String = ids::new();
    diesel::insert_into(job_move::table)
        .values((
            job_move::id.eq(&id),
            job_move::shop_id.eq(tx.studio.id.as_str()),
            job_move::step_id.eq(before.id.as_str()),
            job_move::version.eq(before.version),
            job_move::what.eq(what.stored()),
            job_move::at.eq(tx.now.ms()),
            job_move::was.eq(RowId::of("job_move", &id).write_json("was", &was)?),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// The last move of a step that isn't undone.
pub(in crate::job) fn last_move(tx: &mut Tx<'_>, of: &Step) -> Stored<Option<Last>> {
    let row: Option<(String, i64, String, i64, String)> = rows_of_shop!(job_move, tx)
        .filter(job_move::step_id.eq(of.id.as_str()))
        .order(job_move::version.desc())
        .select((job_move::id, job_move::version, job_move::what, job_move::at, job_move::was))
        .first(tx.conn)
        .optional()?;
    let Some((id, version, what, at, was)) = row else { return Ok(None) };
    let row = RowId::of("job_move", &id);
    let was: Was = row.read_json("was", &was)?;
    let state: StepState = row.read("was", was.state)?;
    let mut pieces = Vec::with_capacity(was.pieces.len());
    for (who, from, until) in was.pieces {
        pieces.push(Piece { who: who.into(), from: row.read("was", from)?, until: row.read("was", until)? });
    }
    let before = JobStep {
        state,
        pieces,
        finished_at: row.read("was", was.finished_at)?,
        clear_from: row.read("was", was.clear_from)?,
        removal_reason: of.step.removal_reason.clone().filter(|_| state == StepState::Removed),
        ..of.step.clone()
    };
    let made = Made { what: row.read("what", what)?, at: row.read("at", at)?, before };
    Ok(Some(Last { version, entered: was.entered, made }))
}

/// The last move of each step of a job that isn't undone, by the step's id.
pub(super) fn last_moves(tx: &mut Tx<'_>, job: &JobId) -> Stored<BTreeMap<String, StepMove>> {
    let shop = tx.studio.id.as_str();
    let of_job = rows_of_shop!(job_step, id = shop).filter(job_step::job_id.eq(job.as_str()));
    let rows: Vec<(String, String, String)> = rows_of_shop!(job_move, id = shop)
        .filter(job_move::step_id.eq_any(of_job.select(job_step::id)))
        .order(job_move::version.asc())
        .select((job_move::id, job_move::step_id, job_move::what))
        .load(tx.conn)?;
    let read = |(id, step, what): (String, String, String)| {
        let what: StepMove = RowId::of("job_move", &id).read("what", what)?;
        Ok((step, what))
    };
    rows.into_iter().map(read).collect()
}

/// Deletes a move that is undone.
pub(in crate::job) fn drop_move(tx: &mut Tx<'_>, step: &Step, version: i64) -> Stored<()> {
    let one = rows_of_shop!(job_move, tx)
        .filter(job_move::step_id.eq(step.id.as_str()))
        .filter(job_move::version.eq(version));
    diesel::delete(one).execute(tx.conn)?;
    Ok(())
}

/// Stores a step as the rules have it now, whatever its pieces of work were before.
pub(in crate::job) fn put_step(tx: &mut Tx<'_>, before: &Step, after: &JobStep) -> Stored<()> {
    set_row(tx, before, after)?;
    if before.step.pieces == after.pieces {
        return Ok(());
    }
    let known = rows_of_shop!(job_piece, tx).filter(job_piece::step_id.eq(before.id.as_str()));
    diesel::delete(known).execute(tx.conn)?;
    after.pieces.iter().try_for_each(|piece| insert_piece(tx, before, piece))
}

/// Deletes the products that a step used, when its finish is undone.
pub(in crate::job) fn drop_uses(tx: &mut Tx<'_>, step: &Step) -> Stored<()> {
    let used = rows_of_shop!(job_use, tx).filter(job_use::step_id.eq(step.id.as_str()));
    diesel::delete(used).execute(tx.conn)?;
    Ok(())
}

/// The work of some people on other cars within a period, each with the step's name.
pub(in crate::job) fn work_elsewhere(
    tx: &mut Tx<'_>,
    job: &JobId,
    people: &[PersonId],
    from: UtcTime,
    until: UtcTime,
) -> Stored<Vec<(String, Piece)>> {
    let people: Vec<&str> = people.iter().map(PersonId::as_str).collect();
    let rows: Vec<(String, String, String, i64, Option<i64>)> = job_piece::table
        .inner_join(
            job_step::table.on(job_step::shop_id.eq(job_piece::shop_id).and(job_step::id.eq(job_piece::step_id))),
        )
        .filter(of_shop!(job_piece, tx))
        .filter(of_shop!(job_step, tx))
        .filter(job_step::job_id.ne(job.as_str()))
        .filter(job_piece::person_id.eq_any(people))
        .filter(job_piece::from_at.lt(until.ms()))
        .filter(job_piece::until_at.is_null().or(job_piece::until_at.gt(from.ms())))
        .order((job_piece::from_at.asc(), job_piece::id.asc()))
        .select((job_piece::id, job_step::name, job_piece::person_id, job_piece::from_at, job_piece::until_at))
        .load(tx.conn)?;
    let mut found = Vec::with_capacity(rows.len());
    for (id, name, who, from, until) in rows {
        let row = RowId::of("job_piece", &id);
        let piece = Piece { who: who.into(), from: row.read("from_at", from)?, until: row.read("until_at", until)? };
        found.push((name, piece));
    }
    Ok(found)
}

/// Hides the job of a car whose arrival is undone. Its steps are deleted; its notes are kept for the next arrival.
pub(in crate::job) fn set_aside(tx: &mut Tx<'_>, id: &JobId) -> Stored<()> {
    let shop = tx.studio.id.to_string();
    let of_job = rows_of_shop!(job_step, id = &shop).filter(job_step::job_id.eq(id.as_str()));
    let moves = rows_of_shop!(job_move, id = &shop).filter(job_move::step_id.eq_any(of_job.select(job_step::id)));
    diesel::delete(moves).execute(tx.conn)?;
    let steps = rows_of_shop!(job_step, id = &shop).filter(job_step::job_id.eq(id.as_str()));
    diesel::delete(steps).execute(tx.conn)?;
    let one = rows_of_shop!(job, id = &shop).filter(job::id.eq(id.as_str()));
    diesel::update(one)
        .set((
            job::set_aside_at.eq(Some(tx.now.ms())),
            job::version.eq(job::version + 1),
            job::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// The hidden job of a booking whose car comes again.
pub(in crate::job) fn set_aside_of(tx: &mut Tx<'_>, booking: &BookingId) -> Stored<Option<JobId>> {
    let id: Option<String> = rows_of_shop!(job, tx)
        .filter(job::booking_id.eq(booking.as_str()))
        .filter(job::set_aside_at.is_not_null())
        .select(job::id)
        .first(tx.conn)
        .optional()?;
    Ok(id.map(JobId::new))
}

/// Shows a hidden job again, to be filled with the steps of that plan.
pub(in crate::job) fn take_up(tx: &mut Tx<'_>, id: &JobId, plan: &PlanId) -> Stored<()> {
    let one = rows_of_shop!(job, tx).filter(job::id.eq(id.as_str()));
    diesel::update(one)
        .set((
            job::set_aside_at.eq(None::<i64>),
            job::plan_id.eq(plan.as_str()),
            job::version.eq(job::version + 1),
            job::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Deletes the record of a hand-over that is undone.
pub(in crate::job) fn drop_handover(tx: &mut Tx<'_>, booking: &BookingId) -> Stored<()> {
    let one = rows_of_shop!(handover, tx).filter(handover::booking_id.eq(booking.as_str()));
    diesel::delete(one).execute(tx.conn)?;
    Ok(())
}
