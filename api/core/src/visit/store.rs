//! Facts about several visits at once: one query per kind of record, never one per visit.

mod group;

use baywright_domain::id::{
    CustomerId, EnquiryId, InspectionId, InvoiceId, MessageId, PaymentId, QuoteId, VariationId, VehicleId,
};
use baywright_domain::inspection::{InspectionStage, InspectionState};
use baywright_domain::invoice::InvoiceKind;
use baywright_domain::money::Money;
use baywright_domain::quote::RevisionState;
use baywright_domain::variation::VariationState;
use diesel::prelude::*;

use self::group::of_group;
use super::usecase::{Head, InvoiceSeen, Wanted};
use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::{RowId, of_shop, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{
    customer, enquiry, inspection, invoice, message, payment_part, quote, quote_revision, variation, vehicle,
};

#[derive(Queryable, Selectable)]
#[diesel(table_name = quote)]
struct Row {
    id: String,
    number: String,
    customer_id: String,
    vehicle_id: String,
    created_at: i64,
    #[diesel(select_expression = customer::name)]
    customer: String,
    #[diesel(select_expression = (vehicle::make, vehicle::model, vehicle::colour, vehicle::registration))]
    vehicle: (String, String, Option<String>, Option<String>),
}

impl Row {
    fn read(self) -> Stored<Head> {
        let row = RowId::of("quote", &self.id);
        let (make, model, colour, registration) = self.vehicle;
        let parts = [make, model, colour.unwrap_or_default()];
        let parts: Vec<&str> = parts.iter().map(String::as_str).filter(|part| !part.is_empty()).collect();
        Ok(Head {
            number: self.number,
            customer: self.customer_id.into(),
            customer_name: self.customer,
            vehicle: self.vehicle_id.into(),
            vehicle_name: parts.join(" "),
            registration,
            created_at: row.read("created_at", self.created_at)?,
            quote: self.id.into(),
        })
    }
}

/// Quotes with the names of customer and vehicle, as every query of heads needs them.
macro_rules! heads {
    ($tx:expr) => {
        quote::table
            .inner_join(
                customer::table.on(customer::shop_id.eq(quote::shop_id).and(customer::id.eq(quote::customer_id))),
            )
            .inner_join(vehicle::table.on(vehicle::shop_id.eq(quote::shop_id).and(vehicle::id.eq(quote::vehicle_id))))
            .filter(of_shop!(quote, $tx))
            .select(Row::as_select())
    };
}

/// Heads of the given quotes, as far as they exist, the oldest first.
pub(super) fn heads(tx: &mut Tx<'_>, quotes: &[QuoteId]) -> Stored<Vec<Head>> {
    let ids: Vec<&str> = quotes.iter().map(QuoteId::as_str).collect();
    let rows: Vec<Row> = heads!(tx).filter(quote::id.eq_any(ids)).order(quote::id.asc()).load(tx.conn)?;
    rows.into_iter().map(Row::read).collect()
}

/// One page of heads, newest first.
pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Head>> {
    let mut mine = heads!(tx).into_boxed();
    if let Some(customer) = &wanted.customer {
        mine = mine.filter(quote::customer_id.eq(customer.as_str().to_owned()));
    }
    if let Some(vehicle) = &wanted.vehicle {
        mine = mine.filter(quote::vehicle_id.eq(vehicle.as_str().to_owned()));
    }
    if let Some(group) = wanted.group {
        mine = of_group!(mine, group, tx);
    }
    let rows: Vec<Row> = newest_first!(mine, quote::id, quote::created_at, paging, tx.conn);
    rows.into_iter().map(Row::read).collect()
}

/// Records by which visits are found.
pub(super) struct Records {
    pub(super) quotes: Vec<String>,
    pub(super) invoices: Vec<String>,
    pub(super) customers: Vec<String>,
    pub(super) vehicles: Vec<String>,
}

/// The newest quotes that are among the records or belong to one of them.
pub(super) fn of_records(tx: &mut Tx<'_>, known: Records, most: i64) -> Stored<Vec<QuoteId>> {
    let shop = tx.studio.id.as_str();
    let billed = rows_of_shop!(invoice, id = shop)
        .filter(invoice::id.eq_any(known.invoices))
        .filter(invoice::quote_id.is_not_null())
        .select(invoice::quote_id.assume_not_null());
    let ids: Vec<String> = rows_of_shop!(quote, id = shop)
        .filter(
            quote::id
                .eq_any(known.quotes)
                .or(quote::id.eq_any(billed))
                .or(quote::customer_id.eq_any(known.customers))
                .or(quote::vehicle_id.eq_any(known.vehicles)),
        )
        .order(quote::id.desc())
        .limit(most)
        .select(quote::id)
        .load(tx.conn)?;
    Ok(ids.into_iter().map(QuoteId::new).collect())
}

/// A revision in its current state.
pub(super) struct Revision {
    pub(super) quote: QuoteId,
    pub(super) state: RevisionState,
    pub(super) payable: Option<Money>,
}

/// A row: id, quote, state, end and total of a revision.
type RevisionRow = (String, String, String, Option<i64>, Option<i64>);

/// Revisions of the given quotes, the first of each quote first.
pub(super) fn revisions(tx: &mut Tx<'_>, quotes: &[QuoteId]) -> Stored<Vec<Revision>> {
    let rows: Vec<RevisionRow> = rows_of_shop!(quote_revision, tx)
        .filter(quote_revision::quote_id.eq_any(quotes.iter().map(QuoteId::as_str)))
        .order((quote_revision::quote_id.asc(), quote_revision::number.asc()))
        .select((
            quote_revision::id,
            quote_revision::quote_id,
            quote_revision::state,
            quote_revision::holds_until,
            quote_revision::payable,
        ))
        .load(tx.conn)?;
    let now = tx.now.datetime();
    rows.into_iter()
        .map(|(id, quote, state, until, payable)| {
            let row = RowId::of("quote_revision", &id);
            let kept: RevisionState = row.read("state", state)?;
            let until: Option<UtcTime> = row.read("holds_until", until)?;
            Ok(Revision {
                quote: quote.into(),
                state: until.map_or(kept, |until| kept.at(now, until.datetime())),
                payable: payable.map(Money::from_minor),
            })
        })
        .collect()
}

/// Variations of the given quotes, the first of each quote first.
pub(super) fn variations(tx: &mut Tx<'_>, quotes: &[QuoteId]) -> Stored<Vec<(QuoteId, VariationId, VariationState)>> {
    let rows: Vec<(String, String, String)> = rows_of_shop!(variation, tx)
        .filter(variation::quote_id.eq_any(quotes.iter().map(QuoteId::as_str)))
        .order((variation::quote_id.asc(), variation::number.asc()))
        .select((variation::id, variation::quote_id, variation::state))
        .load(tx.conn)?;
    rows.into_iter()
        .map(|(id, quote, state)| {
            let state = RowId::of("variation", &id).read("state", state)?;
            Ok((quote.into(), id.into(), state))
        })
        .collect()
}

/// A row: id, quote, number, state, last day to pay, total and open amount of an invoice.
type BilledRow = (String, Option<String>, Option<String>, String, Option<String>, i64, i64);

/// Invoices of the given quotes, each with its quote, the first one first.
pub(super) fn invoices(tx: &mut Tx<'_>, quotes: &[QuoteId]) -> Stored<Vec<(QuoteId, InvoiceSeen)>> {
    let rows: Vec<BilledRow> = rows_of_shop!(invoice, tx)
        .filter(invoice::kind.eq(InvoiceKind::Final.as_str()))
        .filter(invoice::quote_id.eq_any(quotes.iter().map(QuoteId::as_str)))
        .order(invoice::id.asc())
        .select((
            invoice::id,
            invoice::quote_id,
            invoice::number,
            invoice::state,
            invoice::due_on,
            invoice::payable,
            invoice::open,
        ))
        .load(tx.conn)?;
    rows.into_iter()
        .map(|(id, quote, number, state, due_on, payable, open)| {
            let row = RowId::of("invoice", &id);
            let quote = QuoteId::new(row.required("quote_id", quote)?);
            let invoice = InvoiceSeen {
                number,
                state: row.read("state", state)?,
                due_on: row.read("due_on", due_on)?,
                payable: Money::from_minor(payable),
                open: Money::from_minor(open),
                id: id.into(),
            };
            Ok((quote, invoice))
        })
        .collect()
}

/// Those of the given vehicles that have an unfinished inspection before the work.
pub(super) fn being_inspected(tx: &mut Tx<'_>, vehicles: &[VehicleId]) -> Stored<Vec<VehicleId>> {
    let ids: Vec<String> = rows_of_shop!(inspection, tx)
        .filter(inspection::vehicle_id.eq_any(vehicles.iter().map(VehicleId::as_str)))
        .filter(inspection::state.eq(InspectionState::Draft.as_str()))
        .filter(inspection::stage.eq(InspectionStage::BeforeWork.as_str()))
        .select(inspection::vehicle_id)
        .load(tx.conn)?;
    Ok(ids.into_iter().map(VehicleId::new).collect())
}

/// Enquiries that a customer's quote was made from.
pub(super) fn enquiries(tx: &mut Tx<'_>, customer: &CustomerId, quote: &QuoteId) -> Stored<Vec<EnquiryId>> {
    let ids: Vec<String> = rows_of_shop!(enquiry, tx)
        .filter(enquiry::customer_id.eq(customer.as_str()))
        .filter(enquiry::quote_id.eq(quote.as_str()))
        .order(enquiry::id.asc())
        .select(enquiry::id)
        .load(tx.conn)?;
    Ok(ids.into_iter().map(EnquiryId::new).collect())
}

/// Inspections of a vehicle that began between two times, the first one first.
pub(super) fn inspections(
    tx: &mut Tx<'_>,
    vehicle: &VehicleId,
    from: UtcTime,
    until: UtcTime,
) -> Stored<Vec<InspectionId>> {
    let ids: Vec<String> = rows_of_shop!(inspection, tx)
        .filter(inspection::vehicle_id.eq(vehicle.as_str()))
        .filter(inspection::created_at.ge(from.ms()))
        .filter(inspection::created_at.le(until.ms()))
        .order(inspection::id.asc())
        .select(inspection::id)
        .load(tx.conn)?;
    Ok(ids.into_iter().map(InspectionId::new).collect())
}

/// Payments that settle any of the given invoices, the first one first.
pub(super) fn payments(tx: &mut Tx<'_>, invoices: &[InvoiceId]) -> Stored<Vec<PaymentId>> {
    let ids: Vec<String> = rows_of_shop!(payment_part, tx)
        .filter(payment_part::invoice_id.eq_any(invoices.iter().map(InvoiceId::as_str)))
        .order(payment_part::payment_id.asc())
        .select(payment_part::payment_id)
        .distinct()
        .load(tx.conn)?;
    Ok(ids.into_iter().map(PaymentId::new).collect())
}

/// Mails about any of the given records, the first one first.
pub(super) fn messages(tx: &mut Tx<'_>, about: &[String]) -> Stored<Vec<MessageId>> {
    let ids: Vec<String> = rows_of_shop!(message, tx)
        .filter(message::about_id.eq_any(about.to_vec()))
        .order(message::id.asc())
        .select(message::id)
        .load(tx.conn)?;
    Ok(ids.into_iter().map(MessageId::new).collect())
}
