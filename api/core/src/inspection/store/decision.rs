//! Rows of the owner's decisions; one that is no longer valid is kept, with the time.

use baywright_domain::id::{InspectionId, PersonId};
use baywright_domain::inspection::OwnerDecision;
use diesel::prelude::*;

use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::tx::Tx;
use crate::schema::paint_decision;

/// The decision that is valid now.
pub(super) fn standing(tx: &mut Tx<'_>, inspection: &InspectionId) -> Stored<Option<OwnerDecision>> {
    let row: Option<(String, String, String, bool, String, i64)> = rows_of_shop!(paint_decision, tx)
        .filter(paint_decision::inspection_id.eq(inspection.as_str()))
        .filter(paint_decision::void_at.is_null())
        .select((
            paint_decision::id,
            paint_decision::person_id,
            paint_decision::role,
            paint_decision::go_ahead,
            paint_decision::reason,
            paint_decision::created_at,
        ))
        .first(tx.conn)
        .optional()?;
    let Some((id, who, role, go_ahead, reason, created_at)) = row else { return Ok(None) };
    let row = RowId::of("paint_decision", &id);
    Ok(Some(OwnerDecision {
        who: PersonId::new(who),
        role: row.read("role", role)?,
        go_ahead,
        reason,
        at: row.read("created_at", created_at)?,
    }))
}

pub(in super::super) fn insert_decision(
    tx: &mut Tx<'_>,
    inspection: &InspectionId,
    decision: &OwnerDecision,
) -> Stored<()> {
    diesel::insert_into(paint_decision::table)
        .values((
            paint_decision::id.eq(ids::new::<String>()),
            paint_decision::shop_id.eq(tx.studio.id.as_str()),
            paint_decision::inspection_id.eq(inspection.as_str()),
            paint_decision::person_id.eq(decision.who.as_str()),
            paint_decision::role.eq(decision.role.as_str()),
            paint_decision::go_ahead.eq(decision.go_ahead),
            paint_decision::reason.eq(&decision.reason),
            paint_decision::created_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in super::super) fn void_decisions(tx: &mut Tx<'_>, inspection: &InspectionId) -> Stored<()> {
    diesel::update(
        rows_of_shop!(paint_decision, tx)
            .filter(paint_decision::inspection_id.eq(inspection.as_str()))
            .filter(paint_decision::void_at.is_null()),
    )
    .set(paint_decision::void_at.eq(tx.now.ms()))
    .execute(tx.conn)?;
    Ok(())
}

/// Blanks the reasons of decisions.
pub(super) fn blank(tx: &mut Tx<'_>, inspections: &[String]) -> Stored<()> {
    let theirs = rows_of_shop!(paint_decision, tx).filter(paint_decision::inspection_id.eq_any(inspections));
    diesel::update(theirs).set(paint_decision::reason.eq("Erased")).execute(tx.conn)?;
    Ok(())
}
