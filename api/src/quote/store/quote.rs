//! The quote's own row.

use baywright_domain::id::{CustomerId, QuoteId, VehicleId};
use diesel::prelude::*;

use crate::platform::clock::UtcTime;
use crate::platform::db::rows_of_shop;
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::quote::usecase::{NewQuote, Quote};
use crate::schema::quote;

#[derive(Queryable, Selectable)]
#[diesel(table_name = quote)]
struct Row {
    id: String,
    number: String,
    customer_id: String,
    vehicle_id: String,
    latest: i32,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

impl From<Row> for Quote {
    fn from(row: Row) -> Self {
        Self {
            id: QuoteId::new(row.id),
            number: row.number,
            customer: CustomerId::new(row.customer_id),
            vehicle: VehicleId::new(row.vehicle_id),
            latest: u32::try_from(row.latest).unwrap_or_default(),
            version: row.version,
            created_at: UtcTime::from_ms(row.created_at),
            updated_at: UtcTime::from_ms(row.updated_at),
        }
    }
}

pub(in crate::quote) fn find(tx: &mut Tx<'_>, id: &QuoteId) -> Stored<Option<Quote>> {
    let row: Option<Row> = rows_of_shop!(quote, tx)
        .filter(quote::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    Ok(row.map(Quote::from))
}

/// The counter of the shop's last quote in that series and year; 0 where there is none.
pub(in crate::quote) fn last_counter(tx: &mut Tx<'_>, series: &str, year: i32) -> Stored<i64> {
    let last: Option<i64> = rows_of_shop!(quote, tx)
        .filter(quote::series.eq(series))
        .filter(quote::year.eq(year))
        .order(quote::counter.desc())
        .select(quote::counter)
        .first(tx.conn)
        .optional()?;
    Ok(last.unwrap_or(0))
}

pub(in crate::quote) fn insert(tx: &mut Tx<'_>, new: &NewQuote) -> Stored<()> {
    diesel::insert_into(quote::table)
        .values((
            quote::id.eq(new.id.as_str()),
            quote::shop_id.eq(tx.studio.id.as_str()),
            quote::number.eq(&new.number),
            quote::series.eq(&new.series),
            quote::year.eq(new.year),
            quote::counter.eq(new.counter),
            quote::customer_id.eq(new.customer.as_str()),
            quote::vehicle_id.eq(new.vehicle.as_str()),
            quote::latest.eq(1),
            quote::version.eq(1_i64),
            quote::created_at.eq(tx.now.ms()),
            quote::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Writes that the quote has changed, and which revision is its latest.
pub(in crate::quote) fn touch(tx: &mut Tx<'_>, quote: &Quote, latest: u32) -> Stored<()> {
    diesel::update(rows_of_shop!(quote, tx).filter(quote::id.eq(quote.id.as_str())))
        .set((
            quote::latest.eq(i32::try_from(latest).unwrap_or(i32::MAX)),
            quote::version.eq(quote.version + 1),
            quote::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
