//! The register of issued documents over HTTP.

use actix_web::{get, post};
use baywright_core::platform::identity::{Accounts, Owner};
use baywright_core::register::usecase::{self, IssuedDocument, SeriesShown, Wanted};
use baywright_domain::id::CustomerId;
use baywright_domain::money::{Currency, Money};
use baywright_domain::series::SeriesKind;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Page, page, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Amount, Day, Instant, Reference, Whole, Word, Words};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(series).service(begin);
}

/// A kind of document as it is sent over HTTP.
type KindWord = Word<SeriesKind>;

type KindWords = Words<SeriesKind>;

/// Conditions for the register.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct RegisterFilter {
    /// Limits the list to documents of these kinds.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    kind: KindWords,
    /// Limits the list to documents of the customer with this id.
    #[param(nullable = false)]
    customer_id: Option<Reference>,
    /// Limits the list to documents issued on this date or later.
    #[param(nullable = false)]
    issued_from: Option<Day>,
    /// Limits the list to documents issued on this date or earlier.
    #[param(nullable = false)]
    issued_until: Option<Day>,
}

/// Document in the register of issued documents.
#[derive(Debug, Serialize, ToSchema)]
pub struct IssuedDocumentView {
    /// Id of the invoice, credit note or refund.
    id: Reference,
    /// Kind of document: invoice, deposit invoice, credit note or receipt of a refund.
    kind: KindWord,
    /// Number of the document.
    #[schema(max_length = 40, example = "INV-2026-0042")]
    number: String,
    /// Issue date in the shop's time zone.
    issued_on: Day,
    /// Tax point date, which decides the tax; null for a deposit invoice, whose tax is due when it is paid, and for a
    /// receipt of a refund, which states no tax.
    tax_point: Option<Day>,
    /// Id of the customer.
    customer_id: Reference,
    /// Id of the invoice that a credit note credits; null for other documents.
    invoice_id: Option<Reference>,
    /// Total before tax; zero for a receipt of a refund.
    net: Amount,
    /// Total of the tax; zero for a receipt of a refund.
    tax: Amount,
    /// Total with tax.
    gross: Amount,
    /// Amount due for payment, credited or given back, with tax.
    payable: Amount,
    /// SHA-256 of the sealed document, in lower-case hex.
    #[schema(min_length = 64, max_length = 64)]
    digest: String,
    /// Time when the document was issued, RFC 3339 in UTC.
    created_at: Instant,
}

impl IssuedDocumentView {
    fn of(document: IssuedDocument, currency: Currency) -> Self {
        let amount = |money: Money| Amount::of(money, currency);
        Self {
            id: Reference::from(&document.id),
            kind: Word(document.kind),
            number: document.number,
            issued_on: Day(document.issued_on),
            tax_point: document.tax_point.map(Day),
            customer_id: Reference::from(&document.customer),
            invoice_id: document.invoice.as_ref().map(Reference::from),
            net: amount(document.net),
            tax: amount(document.tax),
            gross: amount(document.gross),
            payable: amount(document.payable),
            digest: document.digest,
            created_at: Instant(document.created_at),
        }
    }
}

/// List the issued documents.
///
/// Returns one page of the register, newest first: invoices, deposit invoices, credit notes and receipts of refunds with
/// their numbers and totals. Each kind has numbers of its own without gaps.
#[utoipa::path(tag = "register", params(RegisterFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of the register.", body = Page<IssuedDocumentView>)))]
#[get("/v1/issued-documents")]
async fn list(call: Call<Accounts>, list: List<RegisterFilter>) -> Answer {
    let wanted = Wanted {
        kinds: list.filter.kind.0,
        customer: list.filter.customer_id.map(|id| CustomerId::new(id.into_string())),
        from: list.filter.issued_from.map(|day| day.0),
        until: list.filter.issued_until.map(|day| day.0),
    };
    let found = call
        .read(move |tx| {
            let currency = tx.studio.currency;
            Ok(usecase::list(tx, &wanted, &list.paging)?.map(|document| IssuedDocumentView::of(document, currency)))
        })
        .await?;
    Ok(page(&list.links, found))
}

/// Series of numbers of one kind of document, in the current year.
#[derive(Debug, Serialize, ToSchema)]
pub struct SeriesView {
    /// Kind of document: invoice, deposit invoice, credit note or receipt of a refund.
    kind: KindWord,
    /// Prefix of its numbers.
    #[schema(min_length = 1, max_length = 8, example = "INV")]
    prefix: String,
    /// Number that its next document gets.
    #[schema(max_length = 40, example = "INV-2026-0043")]
    next: String,
    /// Whether the series has given out a number this year, so that its first number can no longer be set.
    begun: bool,
}

/// Series of numbers of all kinds of documents.
#[derive(Debug, Serialize, ToSchema)]
pub struct SeriesListView {
    /// Series of each kind, in a fixed order.
    #[schema(max_items = 10)]
    series: Vec<SeriesView>,
}

impl From<Vec<SeriesShown>> for SeriesListView {
    fn from(all: Vec<SeriesShown>) -> Self {
        let shown = all.into_iter().map(|one| SeriesView {
            kind: Word(one.kind),
            prefix: one.next.prefix.as_str().to_owned(),
            next: one.next.text,
            begun: one.begun,
        });
        Self { series: shown.collect() }
    }
}

/// List the series of numbers.
///
/// Returns for each kind of document the prefix of its numbers in the current year and the number that comes next.
#[utoipa::path(tag = "register",
    responses((status = 200, description = "Series of each kind of document.", body = SeriesListView)))]
#[get("/v1/number-series")]
async fn series(call: Call<Accounts>) -> Answer {
    let all = call.read(usecase::series).await?;
    Ok(plain(&SeriesListView::from(all)))
}

/// First number of a series.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "kind": "INVOICE", "first": 418 }))]
pub struct FirstNumberBody {
    /// Kind of document: invoice, deposit invoice, credit note or receipt of a refund.
    kind: KindWord,
    /// Counter of the first document that is issued here this year.
    first: Whole<1, 999_999>,
}

/// Set the first number of a series.
///
/// A shop that begins to use the program during a year continues where its old numbers ended. 409 `number-series` once
/// the series has given out a number this year.
#[utoipa::path(tag = "register", request_body = FirstNumberBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "Series of each kind after the change.", body = SeriesListView)))]
#[post("/v1/number-series/first")]
async fn begin(call: Call<Owner>, _: IdempotencyKey, body: Body<FirstNumberBody>) -> Answer {
    let (kind, first) = (body.value.kind.0, u64::from(body.value.first.get()));
    call.change_unversioned(move |tx| Ok(SeriesListView::from(usecase::begin_at(tx, kind, first)?))).await
}
