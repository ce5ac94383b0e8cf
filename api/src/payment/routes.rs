//! Payments over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_domain::id::{CustomerId, InvoiceId, PaymentId};
use baywright_domain::money::{Currency, Money};
use baywright_domain::payment::Method;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::usecase::{self, NewPayment, Payment, Wanted};
use crate::platform::answer::{Answer, Created, Page, item, page, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::IfNoneMatch;
use crate::platform::fail::Done;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::identity::{Accounts, Desk};
use crate::platform::problem::Problem;
use crate::platform::wire::{Amount, Day, Instant, Line, Reference, Text, Word};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(record).service(show).service(account);
}

crate::wire_words! { Method => "PaymentMethod" }

/// A way of paying as it travels.
type MethodWord = Word<Method>;

/// The most invoices that one payment names.
const MOST_INVOICES: usize = 100;

/// Which payments are wanted.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct PaymentFilter {
    /// Only this customer's.
    #[param(nullable = false)]
    customer_id: Option<Reference>,
    /// Only those that paid something of this invoice.
    #[param(nullable = false)]
    invoice_id: Option<Reference>,
}

/// A payment that came in.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PaymentBody {
    /// Who paid.
    customer_id: Reference,
    /// How; `CREDIT` takes it out of what the customer paid too much before.
    method: MethodWord,
    /// On which day, where the shop is; today where not said.
    #[serde(default)]
    received_on: Option<Day>,
    /// How much, above nothing.
    amount: Amount,
    /// Which invoices it is for, in this order; empty for all that are open, the one due first at the front. What they
    /// don't take stays as the customer's credit.
    #[serde(default)]
    #[schema(max_items = 100, example = json!([]))]
    invoice_ids: Vec<Reference>,
    /// What the bank statement says.
    #[serde(default)]
    reference: Option<Line<140>>,
    /// What the desk adds.
    #[serde(default)]
    note: Option<Text<1000>>,
}

/// A payment.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaymentView {
    /// The payment's id.
    id: Reference,
    /// The same as the ETag; a payment never changes.
    #[schema(minimum = 1)]
    version: i64,
    /// Who paid.
    customer_id: Reference,
    /// How.
    method: MethodWord,
    /// On which day.
    received_on: Day,
    /// How much.
    amount: Amount,
    /// What each invoice took of it, in order.
    #[schema(max_items = 1000)]
    parts: Vec<PaymentPart>,
    /// What no invoice took: it is the customer's credit.
    surplus: Amount,
    /// What the bank statement says.
    #[schema(max_length = 140)]
    reference: String,
    /// What the desk adds.
    #[schema(max_length = 1000)]
    note: String,
    /// When the record was made.
    created_at: Instant,
}

/// What an invoice took of a payment.
#[derive(Debug, Serialize, ToSchema)]
pub struct PaymentPart {
    /// The invoice.
    invoice_id: Reference,
    /// How much.
    amount: Amount,
}

/// What a customer owes and has.
#[derive(Debug, Serialize, ToSchema)]
pub struct AccountView {
    /// The customer.
    customer_id: Reference,
    /// What is open on all their invoices.
    open: Amount,
    /// How much of it is overdue.
    overdue: Amount,
    /// What they paid too much, to pay later invoices with.
    credit: Amount,
}

crate::versioned!(PaymentView);

impl PaymentView {
    fn of(payment: Payment, currency: Currency) -> Self {
        let amount = |money: Money| Amount::of(money, currency);
        let parts = payment.parts.iter();
        let parts = parts.map(|(id, used)| PaymentPart { invoice_id: Reference::from(id), amount: amount(*used) });
        Self {
            id: Reference::from(&payment.id),
            version: payment.version,
            customer_id: Reference::from(&payment.customer),
            method: Word(payment.method),
            received_on: Day(payment.received_on),
            amount: amount(payment.amount),
            parts: parts.collect(),
            surplus: amount(payment.surplus),
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
            return Err(Problem::field("/invoice_ids", "too_many", detail).into());
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

/// List payments.
///
/// One page of them, newest first.
#[utoipa::path(tag = "payment", params(PaymentFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page.", body = Page<PaymentView>)))]
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
    Ok(page(&found))
}

/// Record a payment.
///
/// Lets invoices take what is open on them; what is over stays as the customer's credit.
#[utoipa::path(tag = "payment", request_body = PaymentBody, extensions(("x-idempotency-key" = json!(true))),
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
/// One payment with what each invoice took of it.
#[utoipa::path(tag = "payment", params(("id" = Reference, Path, description = "The payment.")),
    responses((status = 200, description = "The payment.", body = PaymentView), (status = 304, description = "Unchanged.")))]
#[get("/v1/payments/{id}")]
async fn show(call: Call<Accounts>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = PaymentId::new(id.into_inner());
    let view = call.read(move |tx| Ok(PaymentView::of(usecase::show(tx, &id)?, tx.studio.currency))).await?;
    Ok(item(&view, &known))
}

/// Read what a customer owes.
///
/// What is open on all their invoices, how much of it is overdue, and what they paid too much.
#[utoipa::path(tag = "payment", params(("id" = Reference, Path, description = "The customer.")),
    responses((status = 200, description = "The customer's account.", body = AccountView)))]
#[get("/v1/customers/{id}/account")]
async fn account(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = CustomerId::new(id.into_inner());
    let view = call
        .read(move |tx| {
            let balance = usecase::balance(tx, &id)?;
            let amount = |money| Amount::of(money, tx.studio.currency);
            Ok(AccountView {
                customer_id: Reference::from(&id),
                open: amount(balance.open),
                overdue: amount(balance.overdue),
                credit: amount(balance.credit),
            })
        })
        .await?;
    Ok(plain(&view))
}
