//! The shop's terms of money, and every prefix that its numbers ever had.

use baywright_domain::series::{Prefix, SeriesKind};
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::schema::{number_prefix, shop_money};
use crate::shop::settings::MoneyTerms;

#[derive(Queryable, Selectable, Insertable, AsChangeset)]
#[diesel(table_name = shop_money)]
struct Row {
    deposit_prefix: String,
    credit_prefix: String,
    refund_prefix: String,
    deposit_days: i32,
    deposit_asked: String,
    deposit_called_off: String,
    version: i64,
    updated_at: i64,
}

impl Row {
    fn of(terms: &MoneyTerms, now: UtcTime) -> Self {
        Self {
            deposit_prefix: terms.deposit_prefix.as_str().to_owned(),
            credit_prefix: terms.credit_prefix.as_str().to_owned(),
            refund_prefix: terms.refund_prefix.as_str().to_owned(),
            deposit_days: terms.deposit_days.into(),
            deposit_asked: terms.deposit_asked.as_str().to_owned(),
            deposit_called_off: terms.deposit_called_off.as_str().to_owned(),
            version: terms.version,
            updated_at: now.ms(),
        }
    }

    fn read(self, shop: &str) -> Stored<(MoneyTerms, UtcTime)> {
        let row = RowId::of("shop_money", shop);
        let terms = MoneyTerms {
            deposit_prefix: row.read("deposit_prefix", self.deposit_prefix)?,
            credit_prefix: row.read("credit_prefix", self.credit_prefix)?,
            refund_prefix: row.read("refund_prefix", self.refund_prefix)?,
            deposit_days: row.read("deposit_days", self.deposit_days)?,
            deposit_asked: row.read("deposit_asked", self.deposit_asked)?,
            deposit_called_off: row.read("deposit_called_off", self.deposit_called_off)?,
            version: self.version,
        };
        Ok((terms, row.read("updated_at", self.updated_at)?))
    }
}

pub(in crate::shop) fn insert(conn: &mut Conn, shop: &str, terms: &MoneyTerms, now: UtcTime) -> Stored<()> {
    diesel::insert_into(shop_money::table).values((shop_money::shop_id.eq(shop), Row::of(terms, now))).execute(conn)?;
    Ok(())
}

pub(in crate::shop) fn find(tx: &mut Tx<'_>) -> Stored<(MoneyTerms, UtcTime)> {
    let row: Row = rows_of_shop!(shop_money, tx).select(Row::as_select()).first(tx.conn)?;
    row.read(tx.studio.id.as_str())
}

pub(in crate::shop) fn update(tx: &mut Tx<'_>, terms: &MoneyTerms) -> Stored<()> {
    diesel::update(rows_of_shop!(shop_money, tx)).set(Row::of(terms, tx.now)).execute(tx.conn)?;
    Ok(())
}

/// Every prefix that numbers of the shop have or had, with its kind of document.
pub(in crate::shop) fn prefixes(tx: &mut Tx<'_>) -> Stored<Vec<(SeriesKind, Prefix)>> {
    let rows: Vec<(String, String)> = rows_of_shop!(number_prefix, tx)
        .order(number_prefix::prefix.asc())
        .select((number_prefix::prefix, number_prefix::kind))
        .load(tx.conn)?;
    let read = |(prefix, kind): (String, String)| {
        let shop = tx.studio.id.to_string();
        let row = RowId::of("number_prefix", &shop);
        Ok((row.read("kind", kind)?, row.read("prefix", prefix)?))
    };
    rows.into_iter().map(read).collect()
}

pub(in crate::shop) fn add_prefix(tx: &mut Tx<'_>, kind: SeriesKind, prefix: &Prefix) -> Stored<()> {
    diesel::insert_into(number_prefix::table)
        .values((
            number_prefix::shop_id.eq(tx.studio.id.as_str()),
            number_prefix::prefix.eq(prefix.as_str()),
            number_prefix::kind.eq(kind.as_str()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
