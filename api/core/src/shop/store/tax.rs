//! Rows of taxes and their rates.

use baywright_domain::id::TaxCategoryId;
use baywright_domain::money::Percent;
use baywright_domain::tax::{Category, RateTable};
use chrono::NaiveDate;
use diesel::prelude::*;

use super::some;
use crate::platform::db::{RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{tax_category, tax_rate};
use crate::shop::settings::TaxCategory;

#[derive(Queryable, Selectable)]
#[diesel(table_name = tax_category)]
struct Row {
    id: String,
    code: String,
    name: String,
    category: String,
    reason: String,
    usual: bool,
    version: i64,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = tax_rate)]
struct RateRow {
    tax_category_id: String,
    from_day: String,
    percent: String,
}

/// Every tax of the shop, by code.
pub(in crate::shop) fn all(tx: &mut Tx<'_>) -> Stored<Vec<TaxCategory>> {
    let shop = tx.studio.id.as_str();
    let rows: Vec<Row> = rows_of_shop!(tax_category, id = shop)
        .order(tax_category::code.asc())
        .select(Row::as_select())
        .load(tx.conn)?;
    let rates: Vec<RateRow> = rows_of_shop!(tax_rate, id = shop).select(RateRow::as_select()).load(tx.conn)?;
    rows.into_iter().map(|row| read(row, &rates)).collect()
}

fn read(row: Row, rates: &[RateRow]) -> Stored<TaxCategory> {
    let at = RowId::of("tax_category", &row.id);
    let category = Category::of(&row.category);
    let category = category.ok_or_else(|| at.corrupt("category", format!("{:?} is no category", row.category)))?;
    let mut dated = Vec::new();
    for rate in rates.iter().filter(|rate| rate.tax_category_id == row.id) {
        let at = RowId::of("tax_rate", &row.id);
        let from: NaiveDate = at.read("from_day", rate.from_day.clone())?;
        let percent: Percent = at.read("percent", rate.percent.clone())?;
        dated.push((from, percent));
    }
    Ok(TaxCategory {
        code: at.read("code", row.code)?,
        name: row.name,
        table: RateTable::new(category, dated).map_err(|why| at.corrupt("category", why))?,
        reason: some(row.reason),
        usual: row.usual,
        version: row.version,
        id: row.id.into(),
    })
}

pub(in crate::shop) fn insert(tx: &mut Tx<'_>, tax: &TaxCategory) -> Stored<()> {
    diesel::insert_into(tax_category::table)
        .values((
            tax_category::id.eq(tax.id.as_str()),
            tax_category::shop_id.eq(tx.studio.id.as_str()),
            tax_category::code.eq(tax.code.as_str()),
            tax_category::name.eq(&tax.name),
            tax_category::category.eq(tax.table.category().code()),
            tax_category::reason.eq(tax.reason.as_deref().unwrap_or_default()),
            tax_category::usual.eq(tax.usual),
            tax_category::version.eq(tax.version),
            tax_category::created_at.eq(tx.now.ms()),
            tax_category::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    put_rates(tx, tax)
}

pub(in crate::shop) fn update(tx: &mut Tx<'_>, tax: &TaxCategory) -> Stored<()> {
    diesel::update(rows_of_shop!(tax_category, tx).filter(tax_category::id.eq(tax.id.as_str())))
        .set((
            tax_category::code.eq(tax.code.as_str()),
            tax_category::name.eq(&tax.name),
            tax_category::category.eq(tax.table.category().code()),
            tax_category::reason.eq(tax.reason.as_deref().unwrap_or_default()),
            tax_category::usual.eq(tax.usual),
            tax_category::version.eq(tax.version),
            tax_category::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    diesel::delete(rows_of_shop!(tax_rate, tx).filter(tax_rate::tax_category_id.eq(tax.id.as_str())))
        .execute(tx.conn)?;
    put_rates(tx, tax)
}

fn put_rates(tx: &mut Tx<'_>, tax: &TaxCategory) -> Stored<()> {
    for (from, percent) in tax.table.rates() {
        diesel::insert_into(tax_rate::table)
            .values((
                tax_rate::tax_category_id.eq(tax.id.as_str()),
                tax_rate::shop_id.eq(tx.studio.id.as_str()),
                tax_rate::from_day.eq(from.to_string()),
                tax_rate::percent.eq(percent.to_string()),
            ))
            .execute(tx.conn)?;
    }
    Ok(())
}

/// Makes the tax `id` the only usual one; each tax that was usual before gets a new version.
pub(in crate::shop) fn only_usual(tx: &mut Tx<'_>, id: &TaxCategoryId) -> Stored<()> {
    diesel::update(
        rows_of_shop!(tax_category, tx).filter(tax_category::id.ne(id.as_str())).filter(tax_category::usual.eq(true)),
    )
    .set((
        tax_category::usual.eq(false),
        tax_category::version.eq(tax_category::version + 1),
        tax_category::updated_at.eq(tx.now.ms()),
    ))
    .execute(tx.conn)?;
    Ok(())
}
