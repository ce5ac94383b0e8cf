//! Rows of bays.

use std::collections::{BTreeMap, BTreeSet};

use baywright_domain::id::BayId;
use baywright_domain::menu::Code;
use diesel::prelude::*;

use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{bay, bay_feature};
use crate::shop::usecase::{Bay, BayDetails};

#[derive(Queryable, Selectable)]
#[diesel(table_name = bay)]
struct Row {
    id: String,
    name: String,
    in_use: bool,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

impl Row {
    fn read(self, features: BTreeSet<Code>) -> Stored<Bay> {
        let row = RowId::of("bay", &self.id);
        Ok(Bay {
            version: self.version,
            details: BayDetails { name: self.name, features, in_use: self.in_use },
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            id: self.id.into(),
        })
    }
}

/// Every bay of the shop, in the order they were added.
pub(in crate::shop) fn all(tx: &mut Tx<'_>) -> Stored<Vec<Bay>> {
    let shop = tx.studio.id.as_str();
    let rows: Vec<Row> = rows_of_shop!(bay, id = shop).order(bay::id.asc()).select(Row::as_select()).load(tx.conn)?;
    let pairs: Vec<(String, String)> =
        rows_of_shop!(bay_feature, id = shop).select((bay_feature::bay_id, bay_feature::feature)).load(tx.conn)?;
    let mut features: BTreeMap<String, BTreeSet<Code>> = BTreeMap::new();
    for (id, feature) in pairs {
        let code: Code = RowId::of("bay_feature", &id).read("feature", feature)?;
        features.entry(id).or_default().insert(code);
    }
    rows.into_iter()
        .map(|row| {
            let features = features.remove(&row.id).unwrap_or_default();
            row.read(features)
        })
        .collect()
}

pub(in crate::shop) fn insert(tx: &mut Tx<'_>, id: &BayId, details: &BayDetails) -> Stored<()> {
    diesel::insert_into(bay::table)
        .values((
            bay::id.eq(id.as_str()),
            bay::shop_id.eq(tx.studio.id.as_str()),
            bay::name.eq(&details.name),
            bay::in_use.eq(details.in_use),
            bay::version.eq(1_i64),
            bay::created_at.eq(tx.now.ms()),
            bay::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    put_features(tx, id, details)
}

pub(in crate::shop) fn update(tx: &mut Tx<'_>, id: &BayId, version: i64, details: &BayDetails) -> Stored<()> {
    diesel::update(rows_of_shop!(bay, tx).filter(bay::id.eq(id.as_str())))
        .set((
            bay::name.eq(&details.name),
            bay::in_use.eq(details.in_use),
            bay::version.eq(version),
            bay::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    diesel::delete(rows_of_shop!(bay_feature, tx).filter(bay_feature::bay_id.eq(id.as_str()))).execute(tx.conn)?;
    put_features(tx, id, details)
}

fn put_features(tx: &mut Tx<'_>, id: &BayId, details: &BayDetails) -> Stored<()> {
    for feature in &details.features {
        diesel::insert_into(bay_feature::table)
            .values((
                bay_feature::bay_id.eq(id.as_str()),
                bay_feature::shop_id.eq(tx.studio.id.as_str()),
                bay_feature::feature.eq(feature.as_str()),
            ))
            .execute(tx.conn)?;
    }
    Ok(())
}
