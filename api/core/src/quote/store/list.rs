//! The list of quotes, each with its latest revision.

use baywright_domain::id::{CustomerId, QuoteId, VehicleId};
use baywright_domain::money::Money;
use baywright_domain::quote::RevisionState;
use diesel::prelude::*;

use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{quote, quote_revision};

/// Filter of the list of quotes.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to quotes whose latest revision is in one of these states now; empty for all.
    pub states: Vec<RevisionState>,
    /// Limits the list to one customer.
    pub customer: Option<CustomerId>,
    /// Only those for one vehicle.
    pub vehicle: Option<VehicleId>,
}

/// A quote in a list.
#[derive(Debug, Clone)]
pub struct Listed {
    /// The quote.
    pub id: QuoteId,
    /// Its number.
    pub number: String,
    /// Id of the customer.
    pub customer: CustomerId,
    /// For which vehicle.
    pub vehicle: VehicleId,
    /// Its latest revision.
    pub revision: u32,
    /// That revision's state now.
    pub state: RevisionState,
    /// Total of the required lines; `None` before it was sent.
    pub payable: Option<Money>,
    /// Time when it was sent.
    pub sent_at: Option<UtcTime>,
    /// Time when the offer expires.
    pub holds_until: Option<UtcTime>,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Time when the record was made.
    pub created_at: UtcTime,
}

#[derive(Queryable)]
struct Row {
    id: String,
    number: String,
    customer_id: String,
    vehicle_id: String,
    revision: i32,
    state: String,
    payable: Option<i64>,
    sent_at: Option<i64>,
    holds_until: Option<i64>,
    version: i64,
    created_at: i64,
}

/// One page of quotes, newest first. A sent quote that has expired counts as lapsed, even before the scheduler has
/// stored that.
pub(in crate::quote) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Listed>> {
    let now = tx.now.ms();
    let mut rows = quote::table
        .inner_join(
            quote_revision::table
                .on(quote_revision::quote_id.eq(quote::id).and(quote_revision::number.eq(quote::latest))),
        )
        .filter(of_shop!(quote, tx))
        .filter(of_shop!(quote_revision, tx))
        .select((
            quote::id,
            quote::number,
            quote::customer_id,
            quote::vehicle_id,
            quote_revision::number,
            quote_revision::state,
            quote_revision::payable,
            quote_revision::sent_at,
            quote_revision::holds_until,
            quote::version,
            quote::created_at,
        ))
        .into_boxed();
    if !wanted.states.is_empty() {
        // A sent revision counts as sent or as lapsed depending on the clock, so each state takes its part of them.
        let (sent, lapsed) = (RevisionState::Sent, RevisionState::Lapsed);
        let wants = |state: RevisionState| wanted.states.contains(&state);
        let plain = wanted.states.iter().filter(|state| **state != sent).map(|state| state.as_str());
        let (from, until) = (if wants(lapsed) { i64::MIN } else { now }, if wants(sent) { i64::MAX } else { now });
        let holds = quote_revision::holds_until.assume_not_null();
        let split = quote_revision::state.eq(sent.as_str()).and(holds.gt(from)).and(holds.le(until));
        rows = rows.filter(quote_revision::state.eq_any(plain).or(split));
    }
    if let Some(customer) = &wanted.customer {
        rows = rows.filter(quote::customer_id.eq(customer.as_str().to_owned()));
    }
    if let Some(vehicle) = &wanted.vehicle {
        rows = rows.filter(quote::vehicle_id.eq(vehicle.as_str().to_owned()));
    }
    let rows: Vec<Row> = newest_first!(rows, quote::id, quote::created_at, paging, tx.conn);
    let moment = tx.now.datetime();
    rows.into_iter()
        .map(|row| {
            let quote = RowId::of("quote", &row.id);
            let revision = RowId::of("quote_revision", &row.id);
            let holds_until: Option<UtcTime> = revision.read("holds_until", row.holds_until)?;
            let kept: RevisionState = revision.read("state", row.state)?;
            Ok(Listed {
                number: row.number,
                customer: CustomerId::new(row.customer_id),
                vehicle: VehicleId::new(row.vehicle_id),
                revision: revision.read("number", row.revision)?,
                state: holds_until.map_or(kept, |until| kept.at(moment, until.datetime())),
                payable: row.payable.map(Money::from_minor),
                sent_at: revision.read("sent_at", row.sent_at)?,
                holds_until,
                version: row.version,
                created_at: quote.read("created_at", row.created_at)?,
                id: QuoteId::new(row.id),
            })
        })
        .collect()
}
