//! Rows of taxes and their rates.

use baywright_domain::id::TaxCategoryId;
use baywright_domain::menu::Code;
use baywright_domain::money::Percent;
use baywright_domain::tax::{Category, RateTable};
use diesel::prelude::*;

use super::{day, decimal, some};
use crate::platform::db::rows_of_shop;
use crate::platform::fail::{DbError, Stored};
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
    let corrupt = |what: String| DbError::Corrupt(what);
    let category = Category::of(&row.category).ok_or_else(|| corrupt(format!("tax category {:?}", row.category)))?;
    let mut dated = Vec::new();
    for rate in rates.iter().filter(|rate| rate.tax_category_id == row.id) {
        let percent = Percent::new(decimal(&rate.percent)?).map_err(|e| corrupt(e.to_string()))?;
        dated.push((day(&rate.from_day)?, percent));
    }
    Ok(TaxCategory {
        id: row.id.into(),
        code: Code::parse(&row.code).map_err(|e| corrupt(e.to_string()))?,
        name: row.name,
        table: RateTable::new(category, dated).map_err(|e| corrupt(e.to_string()))?,
        reason: some(row.reason),
        usual: row.usual,
        version: row.version,
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

/// No tax is the usual one any more but that of `id`; each that was moves on by a version.
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
