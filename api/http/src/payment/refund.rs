//! Refunds over HTTP.

use actix_web::http::header::{CONTENT_TYPE, ETAG};
use actix_web::web::Path;
use actix_web::{HttpResponse, get, post};
use baywright_core::payment::kept::RefundReceipt;
use baywright_core::payment::usecase::{self, NewRefund, Refund, RefundsWanted};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Accounts, Desk};
use baywright_domain::id::{CustomerId, RefundId};
use baywright_domain::money::Currency;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::MethodWord;
use crate::invoice::InvoiceSellerView;
use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::{IfMatch, IfNoneMatch, tag};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Amount, Day, Instant, Line, Reference, Text, Word};

/// Conditions for the list of refunds.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct RefundFilter {
    /// Limits the list to refunds to the customer with this id.
    #[param(nullable = false)]
    customer_id: Option<Reference>,
}

/// Money that was given back to a customer.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "customer_id": "0198c0de-0000-7000-8000-000000000011", "method": "TRANSFER",
    "amount": { "amount": "23.00", "currency": "EUR" }, "reason": "Deposit of a job that was called off"
}))]
pub struct RefundBody {
    /// Id of the customer.
    customer_id: Reference,
    /// Method of the refund: cash, card, transfer or other; never `CREDIT`.
    method: MethodWord,
    /// Date on which the money was given back, in the shop's time zone; today if null or left out.
    #[serde(default)]
    paid_on: Option<Day>,
    /// Amount of the refund; above zero and at most the customer's credit.
    amount: Amount,
    /// Reason for the refund, which the receipt states.
    reason: Line<300>,
    /// Reference on the bank statement; null or left out if there is none.
    #[serde(default)]
    reference: Option<Line<140>>,
}

/// Refund to a customer, with its receipt.
#[derive(Debug, Serialize, ToSchema)]
pub struct RefundView {
    /// Id of the refund.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Id of the customer.
    customer_id: Reference,
    /// Number of the receipt.
    #[schema(max_length = 40, example = "RFD-2026-0001")]
    number: String,
    /// Method of the refund.
    method: MethodWord,
    /// Date on which the money was given back, in the shop's time zone.
    paid_on: Day,
    /// Amount of the refund.
    amount: Amount,
    /// Reference on the bank statement; empty if there is none.
    #[schema(max_length = 140)]
    reference: String,
    /// Reason for the refund.
    #[schema(max_length = 300)]
    reason: String,
    /// Date from which the refund no longer counts, because it was undone; null while it counts.
    undone_on: Option<Day>,
    /// Receipt of the refund, which is sealed.
    receipt: RefundReceiptView,
    /// SHA-256 of the sealed receipt, in lower-case hex.
    #[schema(min_length = 64, max_length = 64)]
    digest: String,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

/// Receipt of money that was given back.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RefundReceipt)]
pub struct RefundReceiptView {
    /// Version of this document's format, counted up when fields are added.
    #[schema(minimum = 1, maximum = 1000, example = 1)]
    form: u32,
    /// Number of the receipt.
    #[schema(max_length = 40, example = "RFD-2026-0001")]
    number: String,
    /// Date on which the money was given back.
    paid_on: Day,
    /// Date on which the receipt was issued.
    issued_on: Day,
    /// Studio that gave the money back.
    seller: InvoiceSellerView,
    /// Id of the customer.
    customer_id: Reference,
    /// Name of the customer.
    #[schema(max_length = 200)]
    customer_name: String,
    /// Address of the customer, line by line; empty if unknown.
    #[schema(max_items = 8, value_type = Vec<Line<200>>)]
    customer_address: Vec<String>,
    /// Amount that was given back.
    amount: Amount,
    /// Method of the refund.
    method: MethodWord,
    /// Reference on the bank statement; empty if there is none.
    #[schema(max_length = 140)]
    reference: String,
    /// Reason for the refund.
    #[schema(max_length = 300)]
    reason: String,
}

impl From<RefundReceipt> for RefundReceiptView {
    fn from(kept: RefundReceipt) -> Self {
        Self {
            form: kept.form,
            number: kept.number,
            paid_on: kept.paid_on.into(),
            issued_on: kept.issued_on.into(),
            seller: kept.seller.into(),
            customer_id: Reference::from(&kept.customer_id),
            customer_name: kept.customer_name,
            customer_address: kept.customer_address,
            amount: kept.amount.into(),
            method: kept.method.into(),
            reference: kept.reference,
            reason: kept.reason,
        }
    }
}

crate::versioned!(RefundView);

impl RefundView {
    fn of(refund: &Refund, currency: Currency) -> Done<Self> {
        let said = &refund.said;
        Ok(Self {
            id: Reference::from(&refund.id),
            version: refund.version,
            customer_id: Reference::from(&said.customer),
            number: refund.number.clone(),
            method: Word(said.method),
            paid_on: Day(said.paid_on),
            amount: Amount::of(said.amount, currency),
            reference: said.reference.clone(),
            reason: said.reason.clone(),
            undone_on: refund.undone.as_ref().map(|undone| Day(undone.on)),
            receipt: refund.receipt()?.into(),
            digest: refund.digest.clone(),
            created_at: Instant(refund.created_at),
            updated_at: Instant(refund.updated_at),
        })
    }
}

impl RefundBody {
    fn read(&self, currency: Currency, today: NaiveDate) -> Done<NewRefund> {
        Ok(NewRefund {
            customer: CustomerId::new(self.customer_id.as_str()),
            method: self.method.0,
            paid_on: self.paid_on.map_or(today, |day| day.0),
            amount: self.amount.positive(currency, "/amount")?,
            reference: self.reference.as_ref().map(ToString::to_string).unwrap_or_default(),
            reason: self.reason.to_string(),
        })
    }
}

/// List the refunds.
///
/// Returns one page of refunds with their receipts, newest first.
#[utoipa::path(tag = "payment", params(RefundFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of refunds.", body = Page<RefundView>)))]
#[get("/v1/refunds")]
pub(super) async fn list(call: Call<Accounts>, list: List<RefundFilter>) -> Answer {
    let wanted = RefundsWanted { customer: list.filter.customer_id.map(|id| CustomerId::new(id.into_string())) };
    let found = call
        .read(move |tx| {
            let currency = tx.studio.currency;
            usecase::refunds(tx, &wanted, &list.paging)?.try_map(|refund| RefundView::of(&refund, currency))
        })
        .await?;
    Ok(page(&list.links, found))
}

/// Record a refund.
///
/// Gives money back from the customer's credit, and issues a numbered and sealed receipt. 409 `not-enough-credit` if the
/// customer has less credit: credit an invoice first.
#[utoipa::path(tag = "payment", request_body = RefundBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new refund.", body = RefundView)))]
#[post("/v1/refunds")]
pub(super) async fn create(call: Call<Desk>, _: IdempotencyKey, body: Body<RefundBody>) -> Answer {
    call.create(move |tx| {
        let currency = tx.studio.currency;
        let new = body.value.read(currency, tx.today()?)?;
        let view = RefundView::of(&usecase::refund(tx, &new)?, currency)?;
        Ok(Created { location: format!("/v1/refunds/{}", view.id), view })
    })
    .await
}

/// Read a refund.
///
/// Returns one refund with its receipt.
#[utoipa::path(tag = "payment", params(("id" = Reference, Path, description = "Id of the refund.")),
    responses((status = 200, description = "The requested refund.", body = RefundView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/refunds/{id}")]
pub(super) async fn show(call: Call<Accounts>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = RefundId::new(id.into_inner());
    let view = call.read(move |tx| RefundView::of(&usecase::show_refund(tx, &id)?, tx.studio.currency)).await?;
    Ok(item(&view, &known))
}

/// Read the sealed receipt of a refund.
///
/// Returns the canonical JSON (RFC 8785) byte for byte: its SHA-256 in lower-case hex is the refund's `digest`.
#[utoipa::path(tag = "payment", params(("id" = Reference, Path, description = "Id of the refund.")),
    responses((status = 200, description = "Sealed receipt of the refund.", body = RefundReceiptView)))]
#[get("/v1/refunds/{id}/sealed")]
pub(super) async fn refund_sealed(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = RefundId::new(id.into_inner());
    let refund = call.read(move |tx| usecase::show_refund(tx, &id)).await?;
    let tag = (ETAG, tag(refund.version));
    Ok(HttpResponse::Ok().insert_header((CONTENT_TYPE, "application/json")).insert_header(tag).body(refund.text))
}

/// Reason for undoing a refund.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RefundUndoBody {
    /// Note of the desk: the reason why the customer never received the money.
    #[schema(example = "the transfer came back")]
    note: Text<1000>,
}

/// Undo a refund.
///
/// Makes the amount the customer's credit again, because they never received it. The receipt stays in the register.
#[utoipa::path(tag = "payment", request_body = RefundUndoBody,
    params(("id" = Reference, Path, description = "Id of the refund.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The refund after the change.", body = RefundView)))]
#[post("/v1/refunds/{id}/undo")]
pub(super) async fn refund_undo(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<RefundUndoBody>,
) -> Answer {
    let (id, note) = (RefundId::new(id.into_inner()), body.value.note.into_string());
    call.change(move |tx| RefundView::of(&usecase::undo_refund(tx, &id, seen, &note)?, tx.studio.currency)).await
}
