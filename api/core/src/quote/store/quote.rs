//! The quote's own row.

use baywright_domain::id::{CustomerId, QuoteId, VehicleId};
use diesel::prelude::*;

use super::revision::{RevisionRow, Row as LatestRow};
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, columns, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::tx::Tx;
use crate::quote::usecase::{NewQuote, Quote};
use crate::schema::{quote, quote_revision};

columns! {
    /// A quote without its revisions.
    read struct Row in quote as Quote {
        id: QuoteId,
        number: String,
        customer = customer_id: CustomerId,
        vehicle = vehicle_id: VehicleId,
        latest: u32,
        version: i64,
        created_at: UtcTime,
        updated_at: UtcTime,
    }
}

pub(in crate::quote) fn find(tx: &mut Tx<'_>, id: &QuoteId) -> Stored<Option<Quote>> {
    let row: Option<Row> = rows_of_shop!(quote, tx)
        .filter(quote::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

/// A quote with its latest revision, and the full explanation of each line's price of that revision, as JSON.
pub(in crate::quote) fn with_latest(
    tx: &mut Tx<'_>,
    id: &QuoteId,
) -> Stored<Option<(Quote, RevisionRow, Option<String>)>> {
    let found: Option<(Row, LatestRow, Option<String>)> = quote::table
        .inner_join(
            quote_revision::table
                .on(quote_revision::quote_id.eq(quote::id).and(quote_revision::number.eq(quote::latest))),
        )
        .filter(of_shop!(quote, tx))
        .filter(of_shop!(quote_revision, tx))
        .filter(quote::id.eq(id.as_str()))
        .select((Row::as_select(), LatestRow::as_select(), quote_revision::explanation))
        .first(tx.conn)
        .optional()?;
    found.map(|(quote, row, explanation)| Ok((quote.read()?, RevisionRow::try_from(row)?, explanation))).transpose()
}

/// The counter of the shop's last quote in that series and year; 0 if there is none.
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

/// Stores that the quote has changed, and which revision is its latest.
pub(in crate::quote) fn touch(tx: &mut Tx<'_>, quote: &Quote, latest: u32) -> Stored<()> {
    diesel::update(rows_of_shop!(quote, tx).filter(quote::id.eq(quote.id.as_str())))
        .set((
            quote::latest.eq(RowId::of("quote", quote.id.as_str()).write("latest", &latest)?),
            quote::version.eq(quote.version + 1),
            quote::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}
