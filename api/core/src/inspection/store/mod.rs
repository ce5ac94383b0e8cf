//! Rows of inspections, their findings, readings, photographs and decisions.

mod decision;
mod odometer;
mod parts;

use baywright_domain::id::{InspectionId, PersonId, PhotoId, VehicleId};
use baywright_domain::inspection::{
    Assessment, ConditionClass, Grade, InspectionStage, InspectionState, OwnerDecision, PaintPolicy, PanelReadings,
};
use diesel::prelude::*;

pub(super) use decision::{insert_decision, void_decisions};
pub(super) use odometer::last_odometer;

use super::usecase::{Details, Found, Judged, Summary, Wanted};
use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, columns, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{inspection, paint_reading};

/// An inspection as its rows store it.
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

columns! {
    /// The columns that a draft's change replaces.
    struct Head in inspection as Details {
        stage: InspectionStage,
        odometer: Option<i32>,
        soil = soil_grade: Grade,
        contamination = contamination_grade: Grade,
        beyond_repair: String,
        note: String,
    }
    with { findings: Vec<Found>, readings: Vec<PanelReadings>, photo_ids: Vec<PhotoId> }
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

fn named(id: &str) -> RowId<'_> {
    RowId::of("inspection", id)
}

impl JudgedRow {
    fn of(row: RowId<'_>, judged: &Judged) -> Stored<Self> {
        Ok(Self {
            condition_class: Some(row.write("condition_class", &judged.condition.class)?),
            condition_reasons: Some(row.write("condition_reasons", &judged.condition.reasons)?),
            condition_factor: Some(row.write("condition_factor", &judged.factor)?),
            paint_floor_um: Some(i32::from(judged.paint.floor)),
            removal_budget_um: Some(i32::from(judged.paint.removal_budget)),
            refinish_above_um: Some(i32::from(judged.paint.refinish_above)),
            least_spots: Some(i32::from(judged.paint.least_spots)),
        })
    }

    fn read(self, row: RowId<'_>) -> Stored<Option<Judged>> {
        let Some(class) = self.condition_class else { return Ok(None) };
        let reasons = row.required("condition_reasons", self.condition_reasons)?;
        let factor = row.required("condition_factor", self.condition_factor)?;
        let limit = |column, cell| row.read::<u16>(column, row.required(column, cell)?);
        Ok(Some(Judged {
            condition: Assessment {
                class: row.read("condition_class", class)?,
                reasons: row.read("condition_reasons", reasons)?,
            },
            factor: row.read("condition_factor", factor)?,
            paint: PaintPolicy {
                floor: limit("paint_floor_um", self.paint_floor_um)?,
                removal_budget: limit("removal_budget_um", self.removal_budget_um)?,
                refinish_above: limit("refinish_above_um", self.refinish_above_um)?,
                least_spots: row.read("least_spots", row.required("least_spots", self.least_spots)?)?,
            },
        }))
    }
}

pub(super) fn find(tx: &mut Tx<'_>, id: &InspectionId) -> Stored<Option<Kept>> {
    let row: Option<Row> = rows_of_shop!(inspection, tx)
        .filter(inspection::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    let Some(row) = row else { return Ok(None) };
    let (findings, photo_ids) = parts::findings(tx, id)?;
    let at = named(&row.id);
    Ok(Some(Kept {
        version: row.version,
        vehicle_id: row.vehicle_id.into(),
        state: at.read("state", row.state)?,
        details: row.head.read(&row.id, findings, parts::readings(tx, id)?, photo_ids)?,
        judged: row.judged.read(at)?,
        decision: decision::standing(tx, id)?,
        inspected_by: row.inspected_by.map(PersonId::new),
        completed_at: at.read("completed_at", row.completed_at)?,
        created_at: at.read("created_at", row.created_at)?,
        updated_at: at.read("updated_at", row.updated_at)?,
        id: row.id.into(),
    }))
}

columns! {
    /// An inspection in a list.
    read struct Line in inspection as Summary {
        id: InspectionId,
        version: i64,
        vehicle_id: VehicleId,
        stage: InspectionStage,
        state: InspectionState,
        class = condition_class: Option<ConditionClass>,
        completed_at: Option<UtcTime>,
        created_at: UtcTime,
    }
}

pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Summary>> {
    let mut mine = rows_of_shop!(inspection, tx).select(Line::as_select()).into_boxed();
    if let Some(vehicle) = &wanted.vehicle_id {
        mine = mine.filter(inspection::vehicle_id.eq(vehicle.to_string()));
    }
    if !wanted.states.is_empty() {
        mine = mine.filter(inspection::state.eq_any(wanted.states.iter().map(|state| state.as_str())));
    }
    let rows: Vec<Line> = newest_first!(mine, inspection::id, inspection::created_at, paging, tx.conn);
    rows.into_iter().map(Line::read).collect()
}

/// Maximum number of a car's inspections that are searched for readings.
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
            Head::of(id.as_str(), details)?,
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
        .set((Head::of(id.as_str(), details)?, inspection::version.eq(version), inspection::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    parts::delete(tx, id)?;
    parts::write(tx, id, details)
}

pub(super) fn complete(tx: &mut Tx<'_>, id: &InspectionId, version: i64, judged: &Judged) -> Stored<()> {
    diesel::update(rows_of_shop!(inspection, tx).filter(inspection::id.eq(id.as_str())))
        .set((
            JudgedRow::of(named(id.as_str()), judged)?,
            inspection::state.eq(InspectionState::Completed.as_str()),
            inspection::completed_at.eq(tx.now.ms()),
            inspection::version.eq(version),
            inspection::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Raises the version because of a change in other rows.
pub(super) fn touch(tx: &mut Tx<'_>, id: &InspectionId, version: i64) -> Stored<()> {
    diesel::update(rows_of_shop!(inspection, tx).filter(inspection::id.eq(id.as_str())))
        .set((inspection::version.eq(version), inspection::updated_at.eq(tx.now.ms())))
        .execute(tx.conn)?;
    Ok(())
}

/// Blanks the texts of inspections and removes their photographs.
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

/// The given photographs that an inspection shows.
pub(super) fn shown(tx: &mut Tx<'_>, photos: &[String]) -> Stored<Vec<String>> {
    parts::shown(tx, photos)
}
