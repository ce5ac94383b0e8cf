//! Credit notes over HTTP.

use actix_web::http::header::{CONTENT_TYPE, ETAG};
use actix_web::web::Path;
use actix_web::{HttpResponse, get, post};
use baywright_core::credit_note::usecase::{self, Creditable, NewCredit};
use baywright_core::invoice::usecase::{self as invoice, CreditNote, CreditsWanted};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Accounts, Desk};
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_domain::id::{CreditNoteId, CustomerId, InvoiceId};
use baywright_domain::invoice::CreditLine;
use baywright_domain::money::Currency;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::invoice::{InvoiceDocumentView, InvoiceWithDocument, whole};
use crate::platform::answer::{Answer, Created, Page, Versioned, item, page, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::{IfMatch, IfNoneMatch, tag};
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Amount, Day, Instant, Line, Reference, Whole};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(creditable).service(create).service(correct);
    config.service(list).service(show).service(sealed).service(send);
}

/// Maximum number of lines that a request names.
const MOST_LINES: usize = 1_000;

/// Conditions for the list of credit notes.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct CreditNoteFilter {
    /// Limits the list to credit notes of the customer with this id.
    #[param(nullable = false)]
    customer_id: Option<Reference>,
    /// Limits the list to credit notes of the invoice with this id.
    #[param(nullable = false)]
    invoice_id: Option<Reference>,
}

/// Credit note on an invoice.
#[derive(Debug, Serialize, ToSchema)]
pub struct CreditNoteView {
    /// Id of the credit note.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Number of the credit note.
    #[schema(max_length = 40, example = "CRN-2026-0007")]
    number: String,
    /// Id of the invoice that it credits.
    invoice_id: Reference,
    /// Id of the customer.
    customer_id: Reference,
    /// Name of the buyer.
    #[schema(max_length = 200)]
    buyer_name: String,
    /// Issue date in the shop's time zone.
    issued_on: Day,
    /// Credited amount, with tax.
    payable: Amount,
    /// Whether nothing is left of the invoice after it.
    takes_all: bool,
    /// Reason for the credit note, which the customer reads.
    #[schema(max_length = 300)]
    reason: String,
    /// SHA-256 of the sealed document, in lower-case hex.
    #[schema(min_length = 64, max_length = 64)]
    digest: String,
    /// Time when the credit note was last mailed, RFC 3339 in UTC; null if it never was.
    mailed_at: Option<Instant>,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

/// Credit note with its document.
#[derive(Debug, Serialize, ToSchema)]
pub struct CreditNoteWithDocument {
    /// Credit note without its document.
    #[serde(flatten)]
    credit_note: CreditNoteView,
    /// Document of the credit note, which is sealed.
    document: InvoiceDocumentView,
}

crate::versioned!(CreditNoteView);

impl Versioned for CreditNoteWithDocument {
    fn version(&self) -> i64 {
        self.credit_note.version
    }
}

impl CreditNoteView {
    pub(crate) fn of(credit: &CreditNote, currency: Currency) -> Self {
        Self {
            id: Reference::from(&credit.id),
            version: credit.version,
            number: credit.number.clone(),
            invoice_id: Reference::from(&credit.invoice),
            customer_id: Reference::from(&credit.customer),
            buyer_name: credit.buyer_name.clone(),
            issued_on: Day(credit.issued_on),
            payable: Amount::of(credit.payable, currency),
            takes_all: credit.takes_all,
            reason: credit.reason.clone(),
            digest: credit.digest.clone(),
            mailed_at: credit.mailed_at.map(Instant),
            created_at: Instant(credit.created_at),
            updated_at: Instant(credit.updated_at),
        }
    }
}

/// The credit note with its document as the API returns it.
pub(crate) fn with_document(tx: &Tx<'_>, credit: &CreditNote) -> Done<CreditNoteWithDocument> {
    let credit_note = CreditNoteView::of(credit, tx.studio.currency);
    Ok(CreditNoteWithDocument { credit_note, document: credit.document()?.into() })
}

/// Line of an invoice with the amount that is left to credit.
#[derive(Debug, Serialize, ToSchema)]
pub struct CreditableLine {
    /// Position of the line in the invoice, from 0.
    #[schema(minimum = 0, maximum = 1000)]
    line: u32,
    /// Name of the line.
    #[schema(max_length = 300)]
    name: String,
    /// Amount of the line, with or before tax as the invoice's `prices` says.
    amount: Amount,
    /// Amount that is left to credit, after its share of discounts and charges on the whole invoice.
    left: Amount,
}

/// Amounts of an invoice that are left to credit.
#[derive(Debug, Serialize, ToSchema)]
pub struct CreditableView {
    /// Lines of the invoice, in order.
    #[schema(max_items = 1000)]
    lines: Vec<CreditableLine>,
    /// Amount of the whole invoice that is left to credit, with tax.
    left: Amount,
}

/// Read what is left to credit of an invoice.
///
/// Returns each line of the invoice with the amount that no credit note has credited yet.
#[utoipa::path(tag = "credit_note", params(("id" = Reference, Path, description = "Id of the invoice.")),
    responses((status = 200, description = "Amounts that are left to credit.", body = CreditableView),
        (status = 409, description = "The invoice was issued before the shop used this program.")))]
#[get("/v1/invoices/{id}/creditable")]
async fn creditable(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    let found = call
        .read(move |tx| {
            let currency = tx.studio.currency;
            let (lines, left) = usecase::creditable(tx, &id)?;
            let lines = lines.into_iter().map(|Creditable { line, name, amount, left }| CreditableLine {
                line: u32::try_from(line).unwrap_or(u32::MAX),
                name,
                amount: Amount::of(amount, currency),
                left: Amount::of(left, currency),
            });
            Ok(CreditableView { lines: lines.collect(), left: Amount::of(left, currency) })
        })
        .await?;
    Ok(plain(&found))
}

/// Line that is credited.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CreditLineBody {
    /// Position of the line in the invoice, from 0.
    line: Whole<0, 999>,
    /// Credited amount, with or before tax as the invoice's `prices` says; all that is left of the line if null or left
    /// out.
    #[serde(default)]
    amount: Option<Amount>,
}

/// Credit note to be made.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "reason": "The wheels were not coated", "lines": [{ "line": 1 }] }))]
pub struct CreditNoteBody {
    /// Reason for the credit note, which the customer reads.
    reason: Line<300>,
    /// Lines that are credited, each at most once; empty or left out for all that is left of the invoice.
    #[serde(default)]
    #[schema(max_items = 1000)]
    lines: Vec<CreditLineBody>,
}

impl CreditNoteBody {
    fn read(&self, currency: Currency) -> Result<NewCredit, Refused> {
        if self.lines.len() > MOST_LINES {
            return Err(Refused::field("/lines", "too_many", format!("Name at most {MOST_LINES} lines.")));
        }
        let mut lines = Vec::new();
        for (at, line) in self.lines.iter().enumerate() {
            let pointer = format!("/lines/{at}/amount");
            let amount = line.amount.as_ref().map(|amount| amount.money(currency, &pointer)).transpose()?;
            let line = usize::try_from(line.line.get()).unwrap_or(usize::MAX);
            lines.push(CreditLine { line, amount });
        }
        Ok(NewCredit { lines, reason: self.reason.to_string() })
    }
}

/// Credit an invoice.
///
/// Makes a credit note of lines of an issued invoice, or of all that is left of it, and numbers and seals it at once. It
/// covers the unpaid amount first; what it takes back of payments becomes the customer's credit. Never more than is left
/// of a line is credited.
#[utoipa::path(tag = "credit_note", request_body = CreditNoteBody,
    params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new credit note.", body = CreditNoteWithDocument)))]
#[post("/v1/invoices/{id}/credit-notes")]
async fn create(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
    body: Body<CreditNoteBody>,
) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.create(move |tx| {
        let new = body.value.read(tx.studio.currency)?;
        let credit = usecase::create(tx, &id, seen, &new)?;
        Ok(Created { location: format!("/v1/credit-notes/{}", credit.id), view: with_document(tx, &credit)? })
    })
    .await
}

/// Reason for correcting an invoice.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CorrectionBody {
    /// Reason for the credit note, which the customer reads.
    #[schema(example = "The address was wrong")]
    reason: Line<300>,
}

/// Credit note and new draft of a corrected invoice.
#[derive(Debug, Serialize, ToSchema)]
pub struct CorrectionView {
    /// Credit note for all that was left of the invoice.
    credit_note: CreditNoteView,
    /// New draft with the same lines, or the rest of them after earlier credit notes.
    draft: InvoiceWithDocument,
}

impl Versioned for CorrectionView {
    fn version(&self) -> i64 {
        self.draft.version()
    }
}

/// Correct an invoice.
///
/// Credits all that is left of an issued invoice and drafts it again, in one step. The draft can be changed and issued.
#[utoipa::path(tag = "credit_note", request_body = CorrectionBody,
    params(("id" = Reference, Path, description = "Id of the invoice.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The credit note and the new draft.", body = CorrectionView)))]
#[post("/v1/invoices/{id}/correct")]
async fn correct(
    call: Call<Desk>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    _: IdempotencyKey,
    body: Body<CorrectionBody>,
) -> Answer {
    let id = InvoiceId::new(id.into_inner());
    call.create(move |tx| {
        let done = usecase::correct(tx, &id, seen, body.value.reason.as_str())?;
        let credit_note = CreditNoteView::of(&done.credit, tx.studio.currency);
        let view = CorrectionView { credit_note, draft: whole(tx, &done.draft)? };
        Ok(Created { location: format!("/v1/invoices/{}", done.draft.id), view })
    })
    .await
}

/// List the credit notes.
///
/// Returns one page of credit notes, newest first, without their documents.
#[utoipa::path(tag = "credit_note", params(CreditNoteFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of credit notes.", body = Page<CreditNoteView>)))]
#[get("/v1/credit-notes")]
async fn list(call: Call<Accounts>, list: List<CreditNoteFilter>) -> Answer {
    let wanted = CreditsWanted {
        customer: list.filter.customer_id.map(|id| CustomerId::new(id.into_string())),
        invoice: list.filter.invoice_id.map(|id| InvoiceId::new(id.into_string())),
    };
    let found = call
        .read(move |tx| {
            let currency = tx.studio.currency;
            Ok(invoice::credit_notes(tx, &wanted, &list.paging)?.map(|credit| CreditNoteView::of(&credit, currency)))
        })
        .await?;
    Ok(page(&list.links, found))
}

/// Read a credit note.
///
/// Returns one credit note with its document: lines, taxes and totals, seller and buyer.
#[utoipa::path(tag = "credit_note", params(("id" = Reference, Path, description = "Id of the credit note.")),
    responses((status = 200, description = "The requested credit note.", body = CreditNoteWithDocument),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/credit-notes/{id}")]
async fn show(call: Call<Accounts>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = CreditNoteId::new(id.into_inner());
    let found = call
        .read(move |tx| {
            let credit = invoice::credit_note(tx, &id)?;
            with_document(tx, &credit)
        })
        .await?;
    Ok(item(&found, &known))
}

/// Read the sealed document of a credit note.
///
/// Returns the canonical JSON (RFC 8785) byte for byte: its SHA-256 in lower-case hex is the credit note's `digest`.
#[utoipa::path(tag = "credit_note", params(("id" = Reference, Path, description = "Id of the credit note.")),
    responses((status = 200, description = "Sealed document of the credit note.", body = InvoiceDocumentView)))]
#[get("/v1/credit-notes/{id}/sealed")]
async fn sealed(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = CreditNoteId::new(id.into_inner());
    let credit = call.read(move |tx| invoice::credit_note(tx, &id)).await?;
    let tag = (ETAG, tag(credit.version));
    Ok(HttpResponse::Ok().insert_header((CONTENT_TYPE, "application/json")).insert_header(tag).body(credit.text))
}

/// Send a credit note by mail.
///
/// Writes the customer a mail that contains the whole credit note, with the sealed document attached.
#[utoipa::path(tag = "credit_note", params(("id" = Reference, Path, description = "Id of the credit note.")),
    extensions(("x-if-match" = json!(true)), ("x-idempotency-key" = json!(true))),
    responses((status = 200, description = "The credit note after the change.", body = CreditNoteView)))]
#[post("/v1/credit-notes/{id}/send")]
async fn send(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, _: IdempotencyKey) -> Answer {
    let id = CreditNoteId::new(id.into_inner());
    call.change(move |tx| {
        let credit = usecase::send(tx, &id, seen)?;
        Ok(CreditNoteView::of(&credit, tx.studio.currency))
    })
    .await
}
