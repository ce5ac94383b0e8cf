//! Jobs in lists.

use std::collections::BTreeMap;

use baywright_domain::booking::BookingState;
use baywright_domain::id::{BookingId, JobId, PersonId};
use baywright_domain::job::StepState;
use diesel::prelude::*;

use super::{Head, HeadRow};
use crate::newest_first;
use crate::platform::db::{RowId, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::kept::Named;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{attendance, booking as booked, job, job_piece, job_step};

/// The states of the steps of jobs, in order.
pub(in crate::job) fn states(tx: &mut Tx<'_>, jobs: &[JobId]) -> Stored<BTreeMap<String, Vec<StepState>>> {
    let ids: Vec<&str> = jobs.iter().map(JobId::as_str).collect();
    let rows: Vec<(String, String, String)> = rows_of_shop!(job_step, tx)
        .filter(job_step::job_id.eq_any(ids))
        .order(job_step::place.asc())
        .select((job_step::id, job_step::job_id, job_step::state))
        .load(tx.conn)?;
    let mut steps: BTreeMap<String, Vec<StepState>> = BTreeMap::new();
    for (id, job, state) in rows {
        let state = RowId::of("job_step", &id).read("state", state)?;
        steps.entry(job).or_default().push(state);
    }
    Ok(steps)
}

/// Jobs of the given bookings that were not set aside, in no particular order.
pub(in crate::job) fn of_bookings(tx: &mut Tx<'_>, bookings: &[BookingId]) -> Stored<Vec<Head>> {
    let rows: Vec<HeadRow> = rows_of_shop!(job, tx)
        .filter(job::booking_id.eq_any(bookings.iter().map(BookingId::as_str)))
        .filter(job::set_aside_at.is_null())
        .select(HeadRow::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(HeadRow::read).collect()
}

/// One page, newest first; on request only one person's jobs, or only cars that are in their bay.
pub(in crate::job) fn page(tx: &mut Tx<'_>, who: Option<&PersonId>, open: bool, paging: &Paging) -> Stored<Vec<Head>> {
    let shop = tx.studio.id.as_str();
    let mut query =
        rows_of_shop!(job, id = shop).filter(job::set_aside_at.is_null()).select(HeadRow::as_select()).into_boxed();
    if let Some(who) = who {
        let booked_for = rows_of_shop!(attendance, id = shop)
            .filter(attendance::person_id.eq(who.as_str()))
            .select(attendance::booking_id);
        let was_at = job_step::table
            .inner_join(
                job_piece::table.on(job_piece::shop_id.eq(job_step::shop_id).and(job_piece::step_id.eq(job_step::id))),
            )
            .filter(of_shop!(job_step, id = shop))
            .filter(job_piece::person_id.eq(who.as_str()))
            .select(job_step::job_id);
        query = query.filter(job::booking_id.eq_any(booked_for).or(job::id.eq_any(was_at)));
    }
    if open {
        let in_bay =
            rows_of_shop!(booked, id = shop).filter(booked::state.eq(BookingState::InBay.stored())).select(booked::id);
        query = query.filter(job::booking_id.eq_any(in_bay));
    }
    let rows: Vec<HeadRow> = newest_first!(query, job::id, job::created_at, paging, tx.conn);
    rows.into_iter().map(HeadRow::read).collect()
}
