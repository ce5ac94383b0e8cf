//! Rows of findings, of photographs that show them, and of readings.

use std::collections::BTreeMap;

use baywright_domain::id::{InspectionId, PhotoId};
use baywright_domain::inspection::{Finding, FindingKind, Panel, PanelReadings, Severity};
use diesel::prelude::*;

use super::super::usecase::{Details, Found};
use crate::platform::db::{RowId, each_engine, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::tx::Tx;
use crate::schema::{finding, inspection_photo, paint_reading};

#[derive(Insertable)]
#[diesel(table_name = finding)]
struct FindingRow {
    id: String,
    shop_id: String,
    inspection_id: String,
    place: i32,
    panel: String,
    kind: String,
    severity: String,
    note: String,
}

#[derive(Insertable)]
#[diesel(table_name = inspection_photo, treat_none_as_default_value = false)]
struct PhotoRow {
    id: String,
    shop_id: String,
    inspection_id: String,
    finding_id: Option<String>,
    photo_id: String,
    place: i32,
}

#[derive(Insertable)]
#[diesel(table_name = paint_reading)]
struct ReadingRow {
    id: String,
    shop_id: String,
    inspection_id: String,
    panel: String,
    place: i32,
    micrometres: i32,
}

/// Findings in the order of the walk-round, and the photographs of the whole car.
pub(super) fn findings(tx: &mut Tx<'_>, id: &InspectionId) -> Stored<(Vec<Found>, Vec<PhotoId>)> {
    let shop = tx.studio.id.as_str();
    let rows: Vec<(String, String, String, String, String)> = rows_of_shop!(finding, id = shop)
        .filter(finding::inspection_id.eq(id.as_str()))
        .order(finding::place.asc())
        .select((finding::id, finding::panel, finding::kind, finding::severity, finding::note))
        .load(tx.conn)?;
    let shown: Vec<(Option<String>, String)> = rows_of_shop!(inspection_photo, id = shop)
        .filter(inspection_photo::inspection_id.eq(id.as_str()))
        .order(inspection_photo::place.asc())
        .select((inspection_photo::finding_id, inspection_photo::photo_id))
        .load(tx.conn)?;
    let mut photos: BTreeMap<Option<String>, Vec<PhotoId>> = BTreeMap::new();
    for (finding, photo) in shown {
        photos.entry(finding).or_default().push(photo.into());
    }
    let mut found = Vec::new();
    for (id, panel, kind, severity, note) in rows {
        let row = RowId::of("finding", &id);
        let panel: Panel = row.read("panel", panel)?;
        let kind: FindingKind = row.read("kind", kind)?;
        let severity: Severity = row.read("severity", severity)?;
        let finding = Finding { panel, kind, severity, note };
        found.push(Found { finding, photo_ids: photos.remove(&Some(id)).unwrap_or_default() });
    }
    Ok((found, photos.remove(&None).unwrap_or_default()))
}

/// Readings by panel, in the order in which they were entered.
pub(super) fn readings(tx: &mut Tx<'_>, id: &InspectionId) -> Stored<Vec<PanelReadings>> {
    let rows: Vec<(String, String, i32)> = rows_of_shop!(paint_reading, tx)
        .filter(paint_reading::inspection_id.eq(id.as_str()))
        .order(paint_reading::place.asc())
        .select((paint_reading::id, paint_reading::panel, paint_reading::micrometres))
        .load(tx.conn)?;
    let mut all: Vec<PanelReadings> = Vec::new();
    for (id, panel, micrometres) in rows {
        let row = RowId::of("paint_reading", &id);
        let panel: Panel = row.read("panel", panel)?;
        let reading: u16 = row.read("micrometres", micrometres)?;
        match all.last_mut().filter(|last| last.panel == panel) {
            Some(last) => last.readings.push(reading),
            None => all.push(PanelReadings { panel, readings: vec![reading] }),
        }
    }
    Ok(all)
}

pub(super) fn delete(tx: &mut Tx<'_>, id: &InspectionId) -> Stored<()> {
    let shop = tx.studio.id.as_str();
    diesel::delete(rows_of_shop!(inspection_photo, id = shop).filter(inspection_photo::inspection_id.eq(id.as_str())))
        .execute(tx.conn)?;
    diesel::delete(rows_of_shop!(finding, id = shop).filter(finding::inspection_id.eq(id.as_str())))
        .execute(tx.conn)?;
    diesel::delete(rows_of_shop!(paint_reading, id = shop).filter(paint_reading::inspection_id.eq(id.as_str())))
        .execute(tx.conn)?;
    Ok(())
}

/// The column for the position of a row in its list, for the rows of an inspection.
fn place(table: &'static str, inspection: &str, at: usize) -> Stored<i32> {
    RowId::of(table, inspection).write("place", &at)
}

pub(super) fn write(tx: &mut Tx<'_>, id: &InspectionId, details: &Details) -> Stored<()> {
    let (shop, inspection) = (tx.studio.id.to_string(), id.to_string());
    let (mut findings, mut photos, mut readings) = (Vec::new(), Vec::new(), Vec::new());
    let mut show = |finding_id: Option<&String>, photo_ids: &[PhotoId]| -> Stored<()> {
        for photo in photo_ids {
            photos.push(PhotoRow {
                id: ids::new(),
                shop_id: shop.clone(),
                inspection_id: inspection.clone(),
                finding_id: finding_id.cloned(),
                photo_id: photo.to_string(),
                place: place("inspection_photo", &inspection, photos.len())?,
            });
        }
        Ok(())
    };
    for (at, Found { finding, photo_ids }) in details.findings.iter().enumerate() {
        let row = FindingRow {
            id: ids::new(),
            shop_id: shop.clone(),
            inspection_id: inspection.clone(),
            place: place("finding", &inspection, at)?,
            panel: finding.panel.as_str().to_owned(),
            kind: finding.kind.as_str().to_owned(),
            severity: finding.severity.as_str().to_owned(),
            note: finding.note.clone(),
        };
        show(Some(&row.id), photo_ids)?;
        findings.push(row);
    }
    show(None, &details.photo_ids)?;
    for read in &details.readings {
        for micrometres in &read.readings {
            readings.push(ReadingRow {
                id: ids::new(),
                shop_id: shop.clone(),
                inspection_id: inspection.clone(),
                panel: read.panel.as_str().to_owned(),
                place: place("paint_reading", &inspection, readings.len())?,
                micrometres: i32::from(*micrometres),
            });
        }
    }
    if !findings.is_empty() {
        each_engine!(tx.conn, conn => diesel::insert_into(finding::table).values(&findings).execute(conn))?;
    }
    if !photos.is_empty() {
        each_engine!(tx.conn, conn => diesel::insert_into(inspection_photo::table).values(&photos).execute(conn))?;
    }
    if !readings.is_empty() {
        each_engine!(tx.conn, conn => diesel::insert_into(paint_reading::table).values(&readings).execute(conn))?;
    }
    Ok(())
}

/// Blanks the notes of findings, and removes the photographs.
pub(super) fn blank(tx: &mut Tx<'_>, inspections: &[String]) -> Stored<()> {
    let shop = tx.studio.id.to_string();
    diesel::update(rows_of_shop!(finding, id = &shop).filter(finding::inspection_id.eq_any(inspections)))
        .set(finding::note.eq(""))
        .execute(tx.conn)?;
    let photos =
        rows_of_shop!(inspection_photo, id = &shop).filter(inspection_photo::inspection_id.eq_any(inspections));
    diesel::delete(photos).execute(tx.conn)?;
    Ok(())
}

/// The given photographs that an inspection shows.
pub(super) fn shown(tx: &mut Tx<'_>, photos: &[String]) -> Stored<Vec<String>> {
    let shown = rows_of_shop!(inspection_photo, tx)
        .filter(inspection_photo::photo_id.eq_any(photos))
        .select(inspection_photo::photo_id);
    Ok(shown.load(tx.conn)?)
}
