//! Payments and refunds over HTTP.

mod account;
mod refund;
mod undo;

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::payment::usecase::{self, NewPayment, Payment, Wanted};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Accounts, Desk};
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::{CustomerId, InvoiceId, PaymentId};
use baywright_domain::ledger::PaymentUndoReason;
use baywright_domain::money::{Currency, Money};
use baywright_domain::payment::Method;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Created, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::IfNoneMatch;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Amount, Day, Instant, Line, Reference, Text, Word};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(record).service(show).service(undo::undo);
    config.service(refund::list).service(refund::create).service(refund::show).service(refund::refund_sealed);
    config.service(refund::refund_undo).service(account::account);
}

/// A way of paying as it is sent over HTTP.
type MethodWord = Word<Method>;

/// A reason to undo a payment as it is sent over HTTP.
type UndoReasonWord = Word<PaymentUndoReason>;

/// Maximum number of invoices that one payment names.
const MOST_INVOICES: usize = 100;

/// Conditions for the list of payments.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct PaymentFilter {
    /// Limits the list to payments of the customer with this id.
    #[param(nullable = false)]
    customer_id: Option<Reference>,
    /// Limits the list to payments that paid part of the invoice with this id.
    #[param(nullable = false)]
    invoice_id: Option<Reference>,
}

/// Payment that was received.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PaymentBody {
    /// Id of the customer who paid.
    customer_id: Reference,
    /// Method of payment; `CREDIT` uses what the customer overpaid before.
    method: MethodWord,
    /// Date on which the payment was received, in the shop's time zone; today if null or left out.
    #[serde(default)]
    received_on: Option<Day>,
    /// Amount of the payment, with tax; above zero.
    amount: Amount,
    /// Ids of the invoices to be paid, in this order; empty for all unpaid invoices, earliest due date first. The rest
    /// stays as the customer's credit.
    #[serde(default)]
    #[schema(max_items = 100, example = json!([]))]
    invoice_ids: Vec<Reference>,
    /// Reference on the bank statement; null or left out if there is none.
    #[serde(default)]
    reference: Option<Line<140>>,
    /// Note of the desk about the payment; null or left out for none.
    #[serde(default)]
    note: Option<Text<1000>>,
}

/// Payment of a customer.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaymentView {
    /// Id of the payment.
    id: Reference,
    /// Version of the payment, the same number as in the ETag. It is raised when the payment is undone, or when a credit
    /// note releases a part of it.
    #[schema(minimum = 1)]
    version: i64,
    /// Id of the customer who paid.
    customer_id: Reference,
    /// Method of payment.
    method: MethodWord,
    /// Date on which the payment was received, in the shop's time zone.
    received_on: Day,
    /// Amount of the payment, with tax.
    amount: Amount,
    /// Parts of the payment by invoice, in order.
    #[schema(max_items = 1000)]
    parts: Vec<PaymentPart>,
    /// Part of the payment that no invoice uses, with tax: the customer's credit.
    surplus: Amount,
    /// Date from which the payment no longer counts, because it was undone; null while it counts.
    undone_on: Option<Day>,
    /// Reason for which the payment was undone; null while it counts.
    undo_reason: Option<UndoReasonWord>,
    /// Reference on the bank statement; empty if there is none.
    #[schema(max_length = 140)]
    reference: String,
    /// Note of the desk about the payment; empty if there is none.
    #[schema(max_length = 1000)]
    note: String,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
}

/// Part of a payment that an invoice uses.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaymentPart {
    /// Id of the invoice.
    invoice_id: Reference,
    /// Amount that the invoice uses, with tax; less than at first if a credit note released some.
    amount: Amount,
    /// Part of that amount that had been written off before, with tax.
    recovered: Amount,
}

crate::versioned!(PaymentView);

impl PaymentView {
    fn of(payment: Payment, currency: Currency) -> Self {
        let amount = |money: Money| Amount::of(money, currency);
        let parts = payment.parts.iter();
        let parts = parts.map(|part| PaymentPart {
            invoice_id: Reference::from(&part.invoice),
            amount: amount(part.used),
            recovered: amount(part.recovered),
        });
        Self {
            id: Reference::from(&payment.id),
            version: payment.version,
            customer_id: Reference::from(&payment.customer),
            method: Word(payment.method),
            received_on: Day(payment.received_on),
            amount: amount(payment.amount),
            parts: parts.collect(),
            surplus: amount(payment.surplus),
            undone_on: payment.undone.as_ref().map(|undone| Day(undone.on)),
            undo_reason: payment.undone.as_ref().map(|undone| Word(undone.reason)),
            reference: payment.reference,
            note: payment.note,
            created_at: Instant(payment.created_at),
        }
    }
}

impl PaymentBody {
    fn read(&self, currency: Currency, today: chrono::NaiveDate) -> Done<NewPayment> {
        if self.invoice_ids.len() > MOST_INVOICES {
            let detail = format!("Name at most {MOST_INVOICES} invoices.");
            return Err(Refused::field("/invoice_ids", "too_many", detail).into());
        }
        Ok(NewPayment {
            customer: CustomerId::new(self.customer_id.as_str()),
            method: self.method.0,
            received_on: self.received_on.map_or(today, |day| day.0),
            amount: self.amount.positive(currency, "/amount")?,
            invoices: self.invoice_ids.iter().map(|id| InvoiceId::new(id.as_str())).collect(),
            reference: self.reference.as_ref().map(ToString::to_string).unwrap_or_default(),
            note: self.note.as_ref().map(ToString::to_string).unwrap_or_default(),
        })
    }
}

/// List the payments.
///
/// Returns one page of payments, newest first.
#[utoipa::path(tag = "payment", params(PaymentFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of payments.", body = Page<PaymentView>)))]
#[get("/v1/payments")]
async fn list(call: Call<Accounts>, list: List<PaymentFilter>) -> Answer {
    let wanted = Wanted {
        customer: list.filter.customer_id.map(|id| CustomerId::new(id.into_string())),
        invoice: list.filter.invoice_id.map(|id| InvoiceId::new(id.into_string())),
    };
    let found = call
        .read(move |tx| {
            let currency = tx.studio.currency;
            Ok(usecase::list(tx, &wanted, &list.paging)?.map(|payment| PaymentView::of(payment, currency)))
        })
        .await?;
    Ok(page(&list.links, found))
}

/// Record a payment.
///
/// Settles unpaid invoices; the rest stays as the customer's credit. An amount that is probably a slip needs the
/// confirmation `far-above-due`: ten times what is due on the named invoices or more, or without named invoices exactly
/// ten or a hundred times what is due.
#[utoipa::path(tag = "payment", request_body = PaymentBody,
    extensions(("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["far-above-due"]))),
    responses((status = 201, description = "The new payment.", body = PaymentView)))]
#[post("/v1/payments")]
async fn record(call: Call<Desk>, _: IdempotencyKey, body: Body<PaymentBody>) -> Answer {
    call.create(move |tx| {
        let currency = tx.studio.currency;
        let new = body.value.read(currency, tx.today()?)?;
        let view = PaymentView::of(usecase::record(tx, &new)?, currency);
        Ok(Created { location: format!("/v1/payments/{}", view.id), view })
    })
    .await
}

/// Read a payment.
///
/// Returns one payment with its parts by invoice.
#[utoipa::path(tag = "payment", params(("id" = Reference, Path, description = "Id of the payment.")),
    responses((status = 200, description = "The requested payment.", body = PaymentView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/payments/{id}")]
async fn show(call: Call<Accounts>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = PaymentId::new(id.into_inner());
    let view = call.read(move |tx| Ok(PaymentView::of(usecase::show(tx, &id)?, tx.studio.currency))).await?;
    Ok(item(&view, &known))
}
