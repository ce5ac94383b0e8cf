//! Rows of inspections, their findings, readings, photographs and decisions.

mod decision;
mod odometer;
mod parts;

use baywright_domain::id::{InspectionId, PersonId, VehicleId};
use baywright_domain::inspection::{
    Assessment, ConditionClass, Grade, InspectionStage, InspectionState, OwnerDecision, PaintPolicy,
};
use diesel::prelude::*;
use rust_decimal::Decimal;

pub(super) use decision::{insert_decision, void_decisions};
pub(super) use odometer::last_odometer;

use super::usecase::{Details, Judged, Summary, Wanted};
use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::{DbError, Stored};
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{inspection, paint_reading};

/// An inspection as the rows have it.
pub(super) struct Kept {
    pub(super) id: InspectionId,
    pub(super) version: i64,
    pub(super) vehicle_id: VehicleId,
    pub(super) state: InspectionState,
    pub(super) details: Details,
    pub(super) judged: Option<Judged>,
    pub(super) decision: Option<OwnerDecision>,
    pub(super) inspected_by: Option<PersonId>,
    pub(super) completed_at: Option<UtcTime>,
    pub(super) created_at: UtcTime,
    pub(super) updated_at: UtcTime,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = inspection)]
struct Row {
    id: String,
    vehicle_id: String,
    state: String,
    #[diesel(embed)]
    head: Head,
    #[diesel(embed)]
    judged: JudgedRow,
    inspected_by: Option<String>,
    completed_at: Option<i64>,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

/// The columns that a draft's change replaces.
#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = inspection, treat_none_as_null = true, treat_none_as_default_value = false)]
struct Head {
    stage: String,
    odometer: Option<i32>,
    soil_grade: i32,
    contamination_grade: i32,
    beyond_repair: String,
    note: String,
}

/// The columns that are filled when it is completed.
#[derive(Queryable, Selectable, AsChangeset)]
#[diesel(table_name = inspection)]
struct JudgedRow {
    condition_class: Option<String>,
    condition_reasons: Option<String>,
    condition_factor: Option<String>,
    paint_floor_um: Option<i32>,
    removal_budget_um: Option<i32>,
    refinish_above_um: Option<i32>,
    least_spots: Option<i32>,
}

pub(super) fn corrupt(error: impl std::fmt::Display) -> DbError {
    DbError::Corrupt(error.to_string())
}

impl From<&Details> for Head {
    fn from(details: &Details) -> Self {
        Self {
            stage: details.stage.as_str().to_owned(),
            odometer: details.odometer,
            soil_grade: i32::from(details.soil.get()),
            contamination_grade: i32::from(details.contamination.get()),
            beyond_repair: details.beyond_repair.clone(),
            note: details.note.clone(),
        }
    }
}

impl JudgedRow {
    fn of(judged: &Judged) -> Stored<Self> {
        Ok(Self {
            condition_class: Some(judged.condition.class.as_str().to_owned()),
            condition_reasons: Some(serde_json::to_string(&judged.condition.reasons).map_err(corrupt)?),
            condition_factor: Some(judged.factor.to_string()),
            paint_floor_um: Some(i32::from(judged.paint.floor)),
            removal_budget_um: Some(i32::from(judged.paint.removal_budget)),
            refinish_above_um: Some(i32::from(judged.paint.refinish_above)),
            least_spots: Some(i32::from(judged.paint.least_spots)),
        })
    }

    fn read(self) -> Stored<Option<Judged>> {
        let Some(class) = self.condition_class else { return Ok(None) };
        let reasons = self.condition_reasons.unwrap_or_else(|| "[]".to_owned());
        let factor: Decimal = self.condition_factor.unwrap_or_default().parse().map_err(corrupt)?;
        let limit = |column: Option<i32>| u16::try_from(column.unwrap_or_default()).map_err(corrupt);
        Ok(Some(Judged {
            condition: Assessment {
                class: ConditionClass::parse(&class).map_err(corrupt)?,
                reasons: serde_json::from_str(&reasons).map_err(corrupt)?,
            },
            factor,
            paint: PaintPolicy {
                floor: limit(self.paint_floor_um)?,
                removal_budget: limit(self.removal_budget_um)?,
                refinish_above: limit(self.refinish_above_um)?,
                least_spots: u8::try_from(self.least_spots.unwrap_or_default()).map_err(corrupt)?,
            },
        }))
    }
}

fn grade(column: i32) -> Stored<Grade> {
    u8::try_from(column).map_err(corrupt).and_then(|number| Grade::new(number).map_err(corrupt))
}

pub(super) fn find(tx: &mut Tx<'_>, id: &InspectionId) -> Stored<Option<Kept>> {
    let row: Option<Row> = rows_of_shop!(inspection, tx)
        .filter(inspection::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    let Some(row) = row else { return Ok(None) };
    let (findings, photo_ids) = parts::findings(tx, id)?;
    let details = Details {
        stage: InspectionStage::parse(&row.head.stage).map_err(corrupt)?,
        odometer: row.head.odometer,
        soil: grade(row.head.soil_grade)?,
        contamination: grade(row.head.contamination_grade)?,
        findings,
        readings: parts::readings(tx, id)?,
        photo_ids,
        beyond_repair: row.head.beyond_repair,
        note: row.head.note,
    };
    Ok(Some(Kept {
        id: row.id.into(),
        version: row.version,
        vehicle_id: row.vehicle_id.into(),
        state: InspectionState::parse(&row.state).map_err(corrupt)?,
        details,
        judged: row.judged.read()?,
        decision: decision::standing(tx, id)?,
        inspected_by: row.inspected_by.map(PersonId::new),
        completed_at: row.completed_at.map(UtcTime::from_ms),
        created_at: UtcTime::from_ms(row.created_at),
        updated_at: UtcTime::from_ms(row.updated_at),
    }))
}

type Line = (String, i64, String, String, String, Option<String>, Option<i64>, i64);

pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Summary>> {
    let mut mine = rows_of_shop!(inspection, tx)
        .select((
            inspection::id,
            inspection::version,
            inspection::vehicle_id,
            inspection::stage,
            inspection::state,
            inspection::condition_class,
            inspection::completed_at,
            inspection::created_at,
        ))
        .into_boxed();
    if let Some(vehicle) = &wanted.vehicle_id {
        mine = mine.filter(inspection::vehicle_id.eq(vehicle.to_string()));
    }
    if !wanted.states.is_empty() {
        mine = mine.filter(inspection::state.eq_any(wanted.states.iter().map(|state| state.as_str())));
    }
    let rows: Vec<Line> = newest_first!(mine, inspection::id, inspection::created_at, paging, tx.conn);
    rows.into_iter()
        .map(|(id, version, vehicle_id, stage, state, class, completed_at, created_at)| {
            Ok(Summary {
                id: id.into(),
                version,
                vehicle_id: vehicle_id.into(),
                stage: InspectionStage::parse(&stage).map_err(corrupt)?,
                state: InspectionState::parse(&state).map_err(corrupt)?,
                class: class.as_deref().map(ConditionClass::parse).transpose().map_err(corrupt)?,
                completed_at: completed_at.map(UtcTime::from_ms),
                created_at: UtcTime::from_ms(created_at),
            })
        })
        .collect()
}

/// How many of a car's inspections are looked at for readings.
const MOST_READ: i64 = 20;

/// The completed inspections of a vehicle in which paint was read, the newest first.
pub(super) fn newest_with_readings(tx: &mut Tx<'_>, vehicle: &VehicleId) -> Stored<Vec<InspectionId>> {
    let shop = tx.studio.id.as_str();
    let readings = rows_of_shop!(paint_reading, id = shop).filter(paint_reading::inspection_id.eq(inspection::id));
    let ids: Vec<String> = rows_of_shop!(inspection, id = shop)
        .filter(inspection::vehicle_id.eq(vehicle.as_str()))
        .filter(inspection::state.eq(InspectionState::Completed.as_str()))
        .filter(diesel::dsl::exists(readings))
        .order((inspection::completed_at.desc(), inspection::id.desc()))
        .limit(MOST_READ)
        .select(inspection::id)
        .load(tx.conn)?;
    Ok(ids.into_iter().map(InspectionId::new).collect())
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &InspectionId, vehicle: &VehicleId, details: &Details) -> Stored<()> {
    diesel::insert_into(inspection::table)
        .values((
            inspection::id.eq(id.as_str()),
            inspection::shop_id.eq(tx.studio.id.as_str()),
            inspection::vehicle_id.eq(vehicle.as_str()),
            inspection::state.eq(InspectionState::Draft.as_str()),
            Head::from(details),
            inspection::inspected_by.eq(tx.actor.person().map(ToString::to_string)),
            inspection::version.eq(1_i64),
            inspection::created_at.eq(tx.now.ms()),
            inspection::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    parts::write(tx, id, details)
}

pub(super) fn update(tx: &mut Tx<'_>, id: &InspectionId, version: i64, details: &Details) -> Stored<()> {
    diesel::update(rows_of_shop!(inspection, tx).filter(inspection::id.eq(id.as_str())))
        .set((Head::from(details), inspection::version.eq(version), inspection::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    parts::delete(tx, id)?;
    parts::write(tx, id, details)
}

pub(super) fn complete(tx: &mut Tx<'_>, id: &InspectionId, version: i64, judged: &Judged) -> Stored<()> {
    diesel::update(rows_of_shop!(inspection, tx).filter(inspection::id.eq(id.as_str())))
        .set((
            JudgedRow::of(judged)?,
            inspection::state.eq(InspectionState::Completed.as_str()),
            inspection::completed_at.eq(tx.now.ms()),
            inspection::version.eq(version),
            inspection::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Counts a change that is in other rows.
pub(super) fn touch(tx: &mut Tx<'_>, id: &InspectionId, version: i64) -> Stored<()> {
    diesel::update(rows_of_shop!(inspection, tx).filter(inspection::id.eq(id.as_str())))
        .set((inspection::version.eq(version), inspection::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

/// Blanks the words of inspections and takes their photographs out.
pub(super) fn blank(tx: &mut Tx<'_>, ids: &[String]) -> Stored<()> {
    let shop = tx.studio.id.to_string();
    diesel::update(rows_of_shop!(inspection, id = &shop).filter(inspection::id.eq_any(ids)))
        .set((
            inspection::beyond_repair.eq(""),
            inspection::note.eq(""),
            inspection::version.eq(inspection::version + 1_i64),
            inspection::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    parts::blank(tx, ids)?;
    decision::blank(tx, ids)
}

/// Those of the photographs that an inspection shows.
pub(super) fn shown(tx: &mut Tx<'_>, photos: &[String]) -> Stored<Vec<String>> {
    parts::shown(tx, photos)
}
