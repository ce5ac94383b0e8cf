//! Writing invoices off, demanding amounts again, disputes.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::invoice::usecase::{self, WriteOffOrder, WrittenOff};
use baywright_core::platform::identity::{Accounts, Desk, Owner};
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::InvoiceId;
use baywright_domain::ledger::WriteOffCause;
use baywright_domain::money::Currency;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{InvoiceView, view};
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::wire::{Amount, Day, Instant, Line, Reference, Word};

/// A cause of a write-off as it is sent over HTTP.
type CauseWord = Word<WriteOffCause>;

/// Amount of an invoice that is written off or demanded again, with the reason.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "reason": "the firm was wound up" }))]
pub struct WriteOffBody {
    /// Reason for the change, which is kept as long as the invoice; must not contain names.
    #[schema(example = "the firm was wound up")]
    reason: Line<300>,
    /// Amount, with tax; all of it if null or left out.
    #[serde(default)]
    amount: Option<Amount>,
    /// Date from which the change counts, in the shop's time zone; today if null or left out.
    #[serde(default)]
    on: Option<Day>,
}

impl WriteOffBody {
    fn read(&self, currency: Currency) -> Result<WriteOffOrder, Refused> {
        let amount = self.amount.as_ref().map(|amount| amount.positive(currency, "/amount")).transpose()?;
        Ok(WriteOffOrder { amount, on: self.on.map(|day| day.0), reason: self.reason.to_string() })
    }
}

/// Write off an invoice.
///
/// Gives up some or all of the unpaid amount; the customer owes it nevertheless, and a payment that arrives after all
/// recovers it. Only the owner may do this.
#[utoipa::path(tag = "invoice", request_body = WriteOffBody,
    params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The invoice after the change.", body = InvoiceView)))]
#[post("/v1/invoices/{id}/write-off")]
pub(super) async fn write_off(
    call: Call<Owner>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<WriteOffBody>,
) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.change(move |tx| {
        let order = body.value.read(tx.studio.currency)?;
        let invoice = usecase::write_off(tx, &id, seen, &order)?;
        view(tx, &invoice)
    })
    .await
}

/// Demand a written-off amount again.
///
/// Takes some or all of the written-off amount back: it is unpaid again. Only the owner may do this.
#[utoipa::path(tag = "invoice", request_body = WriteOffBody,
    params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The invoice after the change.", body = InvoiceView)))]
#[post("/v1/invoices/{id}/reinstate")]
pub(super) async fn reinstate(
    call: Call<Owner>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<WriteOffBody>,
) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.change(move |tx| {
        let order = body.value.read(tx.studio.currency)?;
        let invoice = usecase::reinstate(tx, &id, seen, &order)?;
        view(tx, &invoice)
    })
    .await
}

/// Amount of an invoice that was written off, or its reversal.
#[derive(Debug, Serialize, ToSchema)]
pub struct WriteOffView {
    /// Id of the write-off.
    id: Reference,
    /// Cause of the change: written off, demanded again, paid after all, payment undone or credited.
    cause: CauseWord,
    /// Date from which the change counts, in the shop's time zone.
    on: Day,
    /// Amount, with tax; below zero if it takes some of the written-off amount back.
    amount: Amount,
    /// Reason that was given; empty if none was given.
    #[schema(max_length = 300)]
    reason: String,
    /// Time when it was recorded, RFC 3339 in UTC.
    created_at: Instant,
}

/// Write-offs of an invoice.
#[derive(Debug, Serialize, ToSchema)]
pub struct WriteOffsView {
    /// Write-offs and their reversals, in the order in which they were made.
    #[schema(max_items = 10000)]
    write_offs: Vec<WriteOffView>,
}

impl WriteOffView {
    fn of(one: WrittenOff, currency: Currency) -> Self {
        Self {
            id: Reference::from(&one.id),
            cause: Word(one.cause),
            on: Day(one.on),
            amount: Amount::of(one.amount, currency),
            reason: one.reason,
            created_at: Instant(one.created_at),
        }
    }
}

/// List the write-offs of an invoice.
///
/// Returns each amount that was written off with its day, and what was recovered or demanded again since.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "Id of the invoice.")),
    responses((status = 200, description = "Write-offs of the invoice.", body = WriteOffsView)))]
#[get("/v1/invoices/{id}/write-offs")]
pub(super) async fn write_offs(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    let all = call
        .read(move |tx| {
            let currency = tx.studio.currency;
            Ok(usecase::write_offs(tx, &id)?.into_iter().map(|one| WriteOffView::of(one, currency)).collect())
        })
        .await?;
    Ok(plain(&WriteOffsView { write_offs: all }))
}

/// Reason why a customer disputes an invoice.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DisputeBody {
    /// Reason of the customer, which the log keeps; must not contain names.
    #[schema(example = "the wheels were not coated")]
    reason: Line<300>,
}

/// Record a dispute about an invoice.
///
/// Stops the reminders about the invoice until the dispute ends. The amount stays unpaid.
#[utoipa::path(tag = "invoice", request_body = DisputeBody,
    params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The invoice after the change.", body = InvoiceView)))]
#[post("/v1/invoices/{id}/dispute")]
pub(super) async fn dispute(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<DisputeBody>,
) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.change(move |tx| {
        let invoice = usecase::dispute(tx, &id, seen, body.value.reason.as_str())?;
        view(tx, &invoice)
    })
    .await
}

/// End the dispute about an invoice.
///
/// Lets the reminders about the invoice go out again.
#[utoipa::path(tag = "invoice", params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The invoice after the change.", body = InvoiceView)))]
#[post("/v1/invoices/{id}/end-dispute")]
pub(super) async fn end_dispute(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.change(move |tx| {
        let invoice = usecase::end_dispute(tx, &id, seen)?;
        view(tx, &invoice)
    })
    .await
}
