//! Rows of jobs.

mod list;
mod note;
mod odometer;
mod step;
mod undo;

use baywright_domain::id::{BookingId, JobId, PlanId};
use diesel::prelude::*;

use super::usecase::Job;
use crate::platform::clock::UtcTime;
use crate::platform::db::{columns, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::job;

pub(super) use list::{of_bookings, page, states};
pub(super) use note::{blank, handover, insert_handover, insert_note, notes, notes_count, shown};
pub(super) use odometer::last_odometer;
pub(super) use step::{at_another_job, insert_steps, replan_step, rules, set_step, steps, use_product};
pub(super) use undo::{
    Last, drop_handover, drop_move, drop_uses, last_move, push_move, put_step, set_aside, set_aside_of, take_up,
    work_elsewhere,
};

/// A job without its steps.
pub(super) struct Head {
    pub(super) id: JobId,
    pub(super) booking: BookingId,
    pub(super) plan: PlanId,
    pub(super) version: i64,
    pub(super) created_at: UtcTime,
    pub(super) updated_at: UtcTime,
}

columns! {
    /// A job without its steps.
    read struct HeadRow in job as Head {
        id: JobId,
        booking = booking_id: BookingId,
        plan = plan_id: PlanId,
        version: i64,
        created_at: UtcTime,
        updated_at: UtcTime,
    }
}

pub(super) fn find(tx: &mut Tx<'_>, id: &JobId) -> Stored<Option<Head>> {
    let row: Option<HeadRow> = rows_of_shop!(job, tx)
        .filter(job::id.eq(id.as_str()))
        .filter(job::set_aside_at.is_null())
        .select(HeadRow::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(HeadRow::read).transpose()
}

pub(super) fn of_booking(tx: &mut Tx<'_>, booking: &BookingId) -> Stored<Option<JobId>> {
    let id: Option<String> = rows_of_shop!(job, tx)
        .filter(job::booking_id.eq(booking.as_str()))
        .filter(job::set_aside_at.is_null())
        .select(job::id)
        .first(tx.conn)
        .optional()?;
    Ok(id.map(JobId::new))
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &JobId, booking: &BookingId, plan: &PlanId) -> Stored<()> {
    diesel::insert_into(job::table)
        .values((
            job::id.eq(id.as_str()),
            job::shop_id.eq(tx.studio.id.as_str()),
            job::booking_id.eq(booking.as_str()),
            job::plan_id.eq(plan.as_str()),
            job::version.eq(1_i64),
            job::created_at.eq(tx.now.ms()),
            job::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Raises the version because of a change of the job or of one of its steps; `plan` if its steps come from another plan
/// now.
pub(super) fn touch(tx: &mut Tx<'_>, before: &Job, plan: Option<&PlanId>) -> Stored<()> {
    let one = rows_of_shop!(job, tx).filter(job::id.eq(before.id.as_str()));
    let plan = plan.unwrap_or(&before.plan);
    diesel::update(one)
        .set((job::version.eq(job::version + 1), job::plan_id.eq(plan.as_str()), job::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}
