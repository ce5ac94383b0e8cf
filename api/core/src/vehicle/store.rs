//! Rows of vehicles.

use baywright_domain::country::Country;
use baywright_domain::id::{CustomerId, VehicleId};
use baywright_domain::vehicle::{Market, OdometerUnit, PaintType, Powertrain, SizeClass, Vin, searchable_registration};
use diesel::prelude::*;

use super::usecase::{Details, Vehicle, Wanted};
use crate::newest_first;
use crate::platform::db::{RowId, columns, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::vehicle;

columns! {
    /// Details of a vehicle.
    struct Columns in vehicle as Details {
        customer_id: CustomerId,
        registration: Option<String>,
        country: Option<Country>,
        vin: Option<Vin>,
        market: Market,
        make: String,
        model: String,
        year: Option<i32>,
        colour: Option<String>,
        size = size_class: SizeClass,
        paint = paint_type: PaintType,
        powertrain: Powertrain,
        odometer_unit: OdometerUnit,
        notes: String,
    }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = vehicle)]
struct Row {
    id: String,
    #[diesel(embed)]
    details: Columns,
    merged_into: Option<String>,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

impl Row {
    fn read(self) -> Stored<Vehicle> {
        let row = RowId::of("vehicle", &self.id);
        Ok(Vehicle {
            version: self.version,
            details: self.details.read(&self.id)?,
            merged_into: self.merged_into.map(VehicleId::new),
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            id: self.id.into(),
        })
    }
}

fn read(rows: Vec<Row>) -> Stored<Vec<Vehicle>> {
    rows.into_iter().map(Row::read).collect()
}

/// The registration as it is searched for; it is a column, so that an index finds it.
fn registration_key(details: &Details) -> Option<String> {
    details.registration.as_deref().map(searchable_registration)
}

pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Vehicle>> {
    let mine = rows_of_shop!(vehicle, tx).filter(vehicle::merged_into.is_null());
    let mut mine = mine.select(Row::as_select()).into_boxed();
    if let Some(customer) = &wanted.customer_id {
        mine = mine.filter(vehicle::customer_id.eq(customer.to_string()));
    }
    if let Some(written) = &wanted.registration {
        mine = mine.filter(vehicle::registration_key.eq(searchable_registration(written)));
    }
    let rows: Vec<Row> = newest_first!(mine, vehicle::id, vehicle::created_at, paging, tx.conn);
    read(rows)
}

pub(super) fn find(tx: &mut Tx<'_>, id: &VehicleId) -> Stored<Option<Vehicle>> {
    Ok(of_ids(tx, std::slice::from_ref(id))?.pop())
}

pub(super) fn of_ids(tx: &mut Tx<'_>, ids: &[VehicleId]) -> Stored<Vec<Vehicle>> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    let ids: Vec<String> = ids.iter().map(ToString::to_string).collect();
    let rows: Vec<Row> =
        rows_of_shop!(vehicle, tx).filter(vehicle::id.eq_any(ids)).select(Row::as_select()).load(tx.conn)?;
    read(rows)
}

/// Vehicles with that identification number or that registration, oldest first; merged ones are left out.
pub(super) fn candidates(tx: &mut Tx<'_>, vin: Option<&Vin>, registration: Option<&str>) -> Stored<Vec<Vehicle>> {
    let mut mine = rows_of_shop!(vehicle, tx)
        .filter(vehicle::merged_into.is_null())
        .order(vehicle::id.asc())
        .select(Row::as_select())
        .into_boxed();
    // A column that is null equals nothing, so a missing value finds nothing.
    let (vin, key) = (vin.map(ToString::to_string), registration.map(searchable_registration));
    mine = mine.filter(vehicle::vin.eq(vin).or(vehicle::registration_key.eq(key)));
    read(mine.load(tx.conn)?)
}

/// Records that were merged into a vehicle, oldest first.
pub(super) fn merged_into(tx: &mut Tx<'_>, kept: &VehicleId) -> Stored<Vec<Vehicle>> {
    let rows: Vec<Row> = rows_of_shop!(vehicle, tx)
        .filter(vehicle::merged_into.eq(kept.as_str()))
        .order(vehicle::id.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    read(rows)
}

/// Stores which record replaces another one; `None` if it is not merged.
pub(super) fn set_merged(tx: &mut Tx<'_>, id: &VehicleId, version: i64, into: Option<&VehicleId>) -> Stored<()> {
    diesel::update(rows_of_shop!(vehicle, tx).filter(vehicle::id.eq(id.as_str())))
        .set((
            vehicle::merged_into.eq(into.map(VehicleId::as_str)),
            vehicle::version.eq(version),
            vehicle::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn of_customer(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<Vec<Vehicle>> {
    let rows: Vec<Row> = rows_of_shop!(vehicle, tx)
        .filter(vehicle::customer_id.eq(customer.as_str()))
        .order(vehicle::id.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    read(rows)
}

pub(super) fn all(tx: &mut Tx<'_>) -> Stored<Vec<Vehicle>> {
    let rows: Vec<Row> = rows_of_shop!(vehicle, tx)
        .filter(vehicle::merged_into.is_null())
        .order(vehicle::id.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    read(rows)
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &VehicleId, details: &Details) -> Stored<()> {
    diesel::insert_into(vehicle::table)
        .values((
            vehicle::id.eq(id.as_str()),
            vehicle::shop_id.eq(tx.studio.id.as_str()),
            Columns::of(id.as_str(), details)?,
            vehicle::registration_key.eq(registration_key(details)),
            vehicle::version.eq(1_i64),
            vehicle::created_at.eq(tx.now.ms()),
            vehicle::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn update(tx: &mut Tx<'_>, id: &VehicleId, version: i64, details: &Details) -> Stored<()> {
    diesel::update(rows_of_shop!(vehicle, tx).filter(vehicle::id.eq(id.as_str())))
        .set((
            Columns::of(id.as_str(), details)?,
            vehicle::registration_key.eq(registration_key(details)),
            vehicle::version.eq(version),
            vehicle::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Blanks the identifying details of a customer's vehicles, and the notes about them.
pub(super) fn blank(tx: &mut Tx<'_>, customer: &CustomerId) -> Stored<()> {
    diesel::update(rows_of_shop!(vehicle, tx).filter(vehicle::customer_id.eq(customer.as_str())))
        .set((
            vehicle::registration.eq(None::<String>),
            vehicle::registration_key.eq(None::<String>),
            vehicle::country.eq(None::<String>),
            vehicle::vin.eq(None::<String>),
            vehicle::colour.eq(None::<String>),
            vehicle::notes.eq(""),
            vehicle::version.eq(vehicle::version + 1_i64),
            vehicle::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
