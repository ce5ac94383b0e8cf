//! Rows of notes and of hand-overs.

use baywright_domain::id::{BookingId, JobId, PersonId, PhotoId};
use baywright_domain::vehicle::OdometerUnit;
use diesel::prelude::*;
use serde_json::json;

use crate::job::usecase::{Checked, Handover, NewHandover, Note};
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, columns, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::tx::Tx;
use crate::schema::{handover as given, job_note, job_step};

columns! {
    /// A note of a job.
    read struct NoteRow in job_note as Note {
        id: String,
        step = step_code: Option<String>,
        person = person_id: PersonId,
        text: String,
        photos: Vec<PhotoId>,
        for_customer: bool,
        at: UtcTime,
    }
}

pub(in crate::job) fn notes(tx: &mut Tx<'_>, job: &JobId) -> Stored<Vec<Note>> {
    let rows: Vec<NoteRow> = rows_of_shop!(job_note, tx)
        .filter(job_note::job_id.eq(job.as_str()))
        .order(job_note::id.asc())
        .select(NoteRow::as_select())
        .load(tx.conn)?;
    rows.into_iter().map(NoteRow::read).collect()
}

/// The given photographs that a note shows.
pub(in crate::job) fn shown(tx: &mut Tx<'_>, photos: &[String]) -> Stored<Vec<String>> {
    let mut shown = Vec::new();
    for photo in photos {
        let notes: i64 = rows_of_shop!(job_note, tx)
            .filter(job_note::photos.like(format!("%\"{photo}\"%")))
            .count()
            .get_result(tx.conn)?;
        if notes > 0 {
            shown.push(photo.clone());
        }
    }
    Ok(shown)
}

pub(in crate::job) fn notes_count(tx: &mut Tx<'_>, job: &JobId) -> Stored<i64> {
    Ok(rows_of_shop!(job_note, tx).filter(job_note::job_id.eq(job.as_str())).count().get_result(tx.conn)?)
}

pub(in crate::job) fn insert_note(tx: &mut Tx<'_>, job: &JobId, note: &Note) -> Stored<()> {
    let photos = RowId::of("job_note", &note.id).write("photos", &note.photos)?;
    diesel::insert_into(job_note::table)
        .values((
            job_note::id.eq(&note.id),
            job_note::shop_id.eq(tx.studio.id.as_str()),
            job_note::job_id.eq(job.as_str()),
            job_note::step_code.eq(note.step.as_deref()),
            job_note::person_id.eq(note.person.as_str()),
            job_note::text.eq(&note.text),
            job_note::photos.eq(photos),
            job_note::for_customer.eq(note.for_customer),
            job_note::at.eq(note.at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(in crate::job) fn insert_handover(tx: &mut Tx<'_>, job: &JobId, kept: &Handover) -> Stored<()> {
    let said = &kept.said;
    let checklist: Vec<_> =
        said.checklist.iter().map(|point| json!({ "what": point.what, "done": point.done })).collect();
    let id: String = ids::new();
    let odometer = RowId::of("handover", &id).write("odometer", &said.odometer)?;
    diesel::insert_into(given::table)
        .values((
            given::id.eq(&id),
            given::shop_id.eq(tx.studio.id.as_str()),
            given::booking_id.eq(kept.booking.as_str()),
            given::job_id.eq(job.as_str()),
            given::person_id.eq(kept.person.as_str()),
            given::received_by.eq(&said.received_by),
            given::odometer.eq(odometer),
            given::odometer_unit.eq(kept.unit.map(OdometerUnit::as_str)),
            given::checklist.eq(json!(checklist).to_string()),
            given::aftercare.eq(&said.aftercare),
            given::note.eq(&said.note),
            given::at.eq(kept.at.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = given)]
struct Row {
    id: String,
    booking_id: String,
    person_id: String,
    received_by: String,
    odometer: Option<i32>,
    odometer_unit: Option<String>,
    checklist: String,
    aftercare: String,
    note: String,
    at: i64,
}

#[derive(serde::Deserialize)]
struct Point {
    what: String,
    done: bool,
}

pub(in crate::job) fn handover(tx: &mut Tx<'_>, booking: &BookingId) -> Stored<Option<Handover>> {
    let row: Option<Row> = rows_of_shop!(given, tx)
        .filter(given::booking_id.eq(booking.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    let Some(row) = row else { return Ok(None) };
    let at = RowId::of("handover", &row.id);
    let points: Vec<Point> = at.read_json("checklist", &row.checklist)?;
    Ok(Some(Handover {
        booking: row.booking_id.into(),
        person: row.person_id.into(),
        unit: at.read("odometer_unit", row.odometer_unit)?,
        said: NewHandover {
            received_by: row.received_by,
            odometer: at.read("odometer", row.odometer)?,
            checklist: points.into_iter().map(|point| Checked { what: point.what, done: point.done }).collect(),
            aftercare: row.aftercare,
            note: row.note,
        },
        at: at.read("at", row.at)?,
    }))
}

/// Blanks the texts and photographs of jobs: notes, reasons why steps were removed, and records of hand-overs.
pub(in crate::job) fn blank(tx: &mut Tx<'_>, jobs: &[String]) -> Stored<()> {
    let shop = tx.studio.id.to_string();
    diesel::update(rows_of_shop!(job_note, id = &shop).filter(job_note::job_id.eq_any(jobs)))
        .set((job_note::text.eq(""), job_note::photos.eq("[]")))
        .execute(tx.conn)?;
    let removed = rows_of_shop!(job_step, id = &shop)
        .filter(job_step::job_id.eq_any(jobs))
        .filter(job_step::struck_because.is_not_null());
    diesel::update(removed).set(job_step::struck_because.eq("Erased")).execute(tx.conn)?;
    diesel::update(rows_of_shop!(given, id = &shop).filter(given::job_id.eq_any(jobs)))
        .set((given::received_by.eq("Erased"), given::checklist.eq("[]"), given::aftercare.eq(""), given::note.eq("")))
        .execute(tx.conn)?;
    Ok(())
}
