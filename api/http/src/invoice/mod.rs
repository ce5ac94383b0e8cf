//! Invoices over HTTP.

mod change;
pub(crate) mod document;
mod give_up;
mod opening;
mod read;

use baywright_core::invoice::usecase::{Invoice, Wanted};
use baywright_core::platform::fail::Done;
use baywright_core::platform::tx::Tx;
use baywright_domain::id::{CustomerId, QuoteId};
use baywright_domain::invoice::{InvoiceKind, State};
use baywright_domain::money::{Currency, Money};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

pub(crate) use self::document::InvoiceDocumentView;
pub(crate) use self::document::parties::InvoiceSellerView;
use crate::platform::answer::Versioned;
use crate::platform::wire::{Amount, Day, Instant, Line, Reference, Word, Words};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(read::list).service(read::show).service(read::sealed);
    config
        .service(change::create)
        .service(change::redraft)
        .service(change::issue)
        .service(change::discard)
        .service(change::send);
    config
        .service(opening::opening)
        .service(give_up::write_off)
        .service(give_up::reinstate)
        .service(give_up::write_offs)
        .service(give_up::dispute)
        .service(give_up::end_dispute);
}

/// A state as it is sent over HTTP.
pub type StateWord = Word<State>;

type StateWords = Words<State>;

/// A kind of invoice as it is sent over HTTP.
pub type KindWord = Word<InvoiceKind>;

type KindWords = Words<InvoiceKind>;

/// Conditions for the list of invoices.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct InvoiceFilter {
    /// Limits the list to invoices in one of these states.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    state: StateWords,
    /// Limits the list to these kinds: final invoices, deposit invoices or earlier invoices.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    kind: KindWords,
    /// Limits the list to invoices of the customer with this id.
    #[param(nullable = false)]
    customer_id: Option<Reference>,
    /// Limits the list to invoices of the quote with this id.
    #[param(nullable = false)]
    quote_id: Option<Reference>,
    /// Limits the list to the invoice with this number.
    #[param(nullable = false)]
    number: Option<Line<40>>,
    /// Limits the list to invoices with an unpaid amount whose due date is before this date.
    #[param(nullable = false)]
    due_before: Option<Day>,
}

impl From<InvoiceFilter> for Wanted {
    fn from(filter: InvoiceFilter) -> Self {
        Self {
            states: filter.state.0,
            kinds: filter.kind.0,
            customer: filter.customer_id.map(|id| CustomerId::new(id.into_string())),
            quote: filter.quote_id.map(|id| QuoteId::new(id.into_string())),
            number: filter.number.map(Line::into_string),
            due_before: filter.due_before.map(|day| day.0),
        }
    }
}

/// Invoice of a signed quote, deposit invoice or earlier invoice.
#[derive(Debug, Serialize, ToSchema)]
pub struct InvoiceView {
    /// Id of the invoice.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Kind of invoice: final invoice, deposit invoice, or one that another program issued before (`OPENING`).
    kind: KindWord,
    /// State of the invoice: draft, issued, part paid, paid, credited or written off.
    state: StateWord,
    /// Invoice number; null for a draft.
    #[schema(max_length = 40, example = "INV-2026-0042")]
    number: Option<String>,
    /// Id of the customer.
    customer_id: Reference,
    /// Name of the buyer.
    #[schema(max_length = 200)]
    buyer_name: String,
    /// Id of the signed quote that is invoiced; null if there is none.
    quote_id: Option<Reference>,
    /// Issue date in the shop's time zone; null for a draft.
    issued_on: Option<Day>,
    /// Due date, the last day to pay in time; null for a draft.
    due_on: Option<Day>,
    /// Amount due for payment, with tax.
    payable: Amount,
    /// Unpaid amount, with tax; zero for a draft.
    open: Amount,
    /// Paid amount, with tax.
    paid: Amount,
    /// Amount of its credit notes, with tax.
    credited: Amount,
    /// Amount that is written off and was not paid after all, with tax.
    written_off: Amount,
    /// Part of the paid amount that had been written off before, with tax.
    recovered: Amount,
    /// Date since which the customer disputes the invoice, so that no reminders are sent; null if they don't.
    disputed_on: Option<Day>,
    /// Number of days since the due date; 0 if the invoice is not overdue.
    #[schema(minimum = 0, maximum = 1_000_000)]
    overdue_days: u64,
    /// SHA-256 of the sealed document, in lower-case hex; null for a draft.
    #[schema(min_length = 64, max_length = 64)]
    digest: Option<String>,
    /// Time when the invoice was last mailed, RFC 3339 in UTC; null if it never was.
    mailed_at: Option<Instant>,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

/// Invoice with its document.
#[derive(Debug, Serialize, ToSchema)]
pub struct InvoiceWithDocument {
    /// Invoice without its document.
    #[serde(flatten)]
    invoice: InvoiceView,
    /// Document of the invoice; sealed once the invoice is issued.
    document: InvoiceDocumentView,
}

crate::versioned!(InvoiceView);

impl Versioned for InvoiceWithDocument {
    fn version(&self) -> i64 {
        self.invoice.version
    }
}

impl InvoiceView {
    /// The invoice as of that day.
    pub(crate) fn of(invoice: &Invoice, currency: Currency, today: chrono::NaiveDate) -> Self {
        let amount = |money: Money| Amount::of(money, currency);
        let account = invoice.account;
        let open = !account.open.is_zero();
        let days = invoice.due_on.filter(|_| open).map_or(0, |due| baywright_domain::invoice::days_overdue(due, today));
        Self {
            id: Reference::from(&invoice.id),
            version: invoice.version,
            kind: Word(invoice.kind),
            state: Word(account.state),
            number: invoice.number.clone(),
            customer_id: Reference::from(&invoice.customer),
            buyer_name: invoice.buyer_name.clone(),
            quote_id: invoice.quote.as_ref().map(Reference::from),
            issued_on: invoice.issued_on.map(Day),
            due_on: invoice.due_on.map(Day),
            payable: amount(invoice.payable),
            open: amount(account.open),
            paid: amount(account.paid),
            credited: amount(invoice.credited),
            written_off: amount(invoice.written_off),
            recovered: amount(invoice.recovered),
            disputed_on: invoice.disputed_on.map(Day),
            overdue_days: days,
            digest: invoice.digest.clone(),
            mailed_at: invoice.mailed_at.map(Instant),
            created_at: Instant(invoice.created_at),
            updated_at: Instant(invoice.updated_at),
        }
    }
}

/// The invoice as the API returns it.
pub(crate) fn view(tx: &Tx<'_>, invoice: &Invoice) -> Done<InvoiceView> {
    Ok(InvoiceView::of(invoice, tx.studio.currency, tx.today()?))
}

/// The invoice with its document as the API returns it.
pub(crate) fn whole(tx: &Tx<'_>, invoice: &Invoice) -> Done<InvoiceWithDocument> {
    Ok(InvoiceWithDocument { invoice: view(tx, invoice)?, document: invoice.document()?.into() })
}
