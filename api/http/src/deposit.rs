//! Deposits over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::deposit::usecase::{self, AskOrder, CallOffOrder, CalledOff, Noted};
use baywright_core::invoice::usecase::Remarks;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Accounts, Desk};
use baywright_core::platform::tx::Tx;
use baywright_domain::id::{InvoiceId, QuoteId};
use baywright_domain::invoice::DepositAfterCancellation;
use baywright_domain::money::Currency;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::credit_note::{CreditNoteView, CreditNoteWithDocument, with_document};
use crate::invoice::{InvoiceView, view as invoice_view, whole};
use crate::platform::answer::{Answer, Created, Versioned, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Amount, Instant, Line, Reference, Text, Word};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(noted).service(ask).service(reduce).service(call_off);
}

/// A treatment of deposits as it is sent over HTTP.
type WayWord = Word<DepositAfterCancellation>;

/// Deposit that is asked for.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "quote_id": "0198c0de-0000-7000-8000-000000000021" }))]
pub struct DepositBody {
    /// Id of the signed quote.
    quote_id: Reference,
    /// Amount of the deposit, with tax; the agreed deposit of the quote if null or left out.
    #[serde(default)]
    amount: Option<Amount>,
    /// Purchase-order number of the customer, which some customers require; null or left out for none.
    #[serde(default)]
    #[schema(example = "PO-1007")]
    purchase_order: Option<Line<80>>,
    /// Note of the studio in its own words; null or left out for none.
    #[serde(default)]
    note: Option<Text<2000>>,
}

impl DepositBody {
    fn read(&self, currency: Currency) -> Done<AskOrder> {
        Ok(AskOrder {
            quote: QuoteId::new(self.quote_id.as_str()),
            amount: self.amount.as_ref().map(|amount| amount.positive(currency, "/amount")).transpose()?,
            remarks: Remarks {
                purchase_order: self.purchase_order.as_ref().map(ToString::to_string),
                note: self.note.as_ref().map(ToString::to_string).unwrap_or_default(),
            },
        })
    }
}

/// Ask for a deposit.
///
/// Issues the deposit invoice of a signed quote, with account, payment reference and due date, and mails it if the
/// customer has an email address. It is paid like any invoice, and the final invoice deducts it.
#[utoipa::path(tag = "deposit", request_body = DepositBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The issued deposit invoice.",
        body = crate::invoice::InvoiceWithDocument)))]
#[post("/v1/deposits")]
async fn ask(call: Call<Desk>, _: IdempotencyKey, body: Body<DepositBody>) -> Answer {
    call.create(move |tx| {
        let order = body.value.read(tx.studio.currency)?;
        let issued = usecase::ask(tx, &order)?;
        Ok(Created { location: format!("/v1/invoices/{}", issued.id), view: whole(tx, &issued)? })
    })
    .await
}

/// Reason for reducing a deposit.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DepositReductionBody {
    /// Reason for the credit note, which the customer reads.
    #[schema(example = "The coating was taken off the order")]
    reason: Line<300>,
}

/// Reduce a deposit to the agreed work.
///
/// Credits what the deposits of a quote exceed the work that is agreed now, after some of it was taken off. What was paid
/// of it becomes the customer's credit.
#[utoipa::path(tag = "deposit", request_body = DepositReductionBody,
    params(("id" = Reference, Path, description = "Id of the deposit invoice.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The credit note on the deposit invoice.", body = CreditNoteWithDocument)))]
#[post("/v1/deposits/{id}/reduce")]
async fn reduce(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
    body: Body<DepositReductionBody>,
) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.create(move |tx| {
        let credit = usecase::reduce(tx, &id, seen, body.value.reason.as_str())?;
        Ok(Created { location: format!("/v1/credit-notes/{}", credit.id), view: with_document(tx, &credit)? })
    })
    .await
}

/// Settlement of the deposit of a job that was called off.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "reason": "The customer called the job off" }))]
pub struct CallOffBody {
    /// Treatment of the deposit; as the shop's terms of money say if null or left out.
    #[serde(default)]
    way: Option<WayWord>,
    /// Reason for it, which the customer reads.
    reason: Line<300>,
}

/// Settled deposit of a job that was called off.
#[derive(Debug, Serialize, ToSchema)]
pub struct CalledOffView {
    /// Treatment of the deposit: given back, kept as a price or kept as compensation.
    way: WayWord,
    /// Deposit invoice after the change.
    deposit: InvoiceView,
    /// Credit note on the deposit invoice; null if it was kept as a price.
    credit_note: Option<CreditNoteView>,
    /// Invoice for the compensation, without tax, which the kept money paid; null if nothing was kept as compensation.
    compensation: Option<InvoiceView>,
}

impl Versioned for CalledOffView {
    fn version(&self) -> i64 {
        self.deposit.version()
    }
}

impl CalledOffView {
    fn of(tx: &Tx<'_>, done: &CalledOff) -> Done<Self> {
        Ok(Self {
            way: Word(done.way),
            deposit: invoice_view(tx, &done.deposit)?,
            credit_note: done.credit.as_ref().map(|credit| CreditNoteView::of(credit, tx.studio.currency)),
            compensation: done.compensation.as_ref().map(|issued| invoice_view(tx, issued)).transpose()?,
        })
    }
}

/// Settle the deposit of a job that was called off.
///
/// Gives the deposit back as the customer's credit, keeps it as a price with its tax, or keeps it as compensation without
/// tax, as the request or the shop's terms of money say. A refund of the credit is recorded apart.
#[utoipa::path(tag = "deposit", request_body = CallOffBody,
    params(("id" = Reference, Path, description = "Id of the deposit invoice.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The settled deposit.", body = CalledOffView)))]
#[post("/v1/deposits/{id}/call-off")]
async fn call_off(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
    body: Body<CallOffBody>,
) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    let order = CallOffOrder { way: body.value.way.map(|way| way.0), reason: body.value.reason.to_string() };
    call.change(move |tx| {
        let done = usecase::call_off(tx, &id, seen, &order)?;
        CalledOffView::of(tx, &done)
    })
    .await
}

/// Deposit that was noted on a booking without a deposit invoice.
#[derive(Debug, Serialize, ToSchema)]
pub struct NotedDepositView {
    /// Id of the booking.
    booking_id: Reference,
    /// Id of the quote.
    quote_id: Reference,
    /// Id of the customer.
    customer_id: Reference,
    /// Agreed deposit, with tax.
    amount: Amount,
    /// Time when it was noted as received, RFC 3339 in UTC.
    noted_at: Instant,
}

/// Deposits that were noted on bookings.
#[derive(Debug, Serialize, ToSchema)]
pub struct NotedDepositsView {
    /// Noted deposits, the last one first.
    #[schema(max_items = 200)]
    deposits: Vec<NotedDepositView>,
}

impl NotedDepositView {
    fn of(one: Noted, currency: Currency) -> Self {
        Self {
            booking_id: Reference::from(&one.booking),
            quote_id: Reference::from(&one.quote),
            customer_id: Reference::from(&one.customer),
            amount: Amount::of(one.amount, currency),
            noted_at: Instant(one.noted_at),
        }
    }
}

/// List the deposits that were noted on bookings.
///
/// Returns deposits that were noted as received although no deposit invoice was issued: money without payment, document
/// and tax. No document is made for them afterwards; the owner looks at each of them.
#[utoipa::path(tag = "deposit",
    responses((status = 200, description = "Deposits without an invoice.", body = NotedDepositsView)))]
#[get("/v1/deposits/noted")]
async fn noted(call: Call<Accounts>) -> Answer {
    let all = call
        .read(|tx| {
            let currency = tx.studio.currency;
            Ok(usecase::noted(tx)?.into_iter().map(|one| NotedDepositView::of(one, currency)).collect())
        })
        .await?;
    Ok(plain(&NotedDepositsView { deposits: all }))
}
