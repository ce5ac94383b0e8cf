//! Invoices over HTTP.

mod change;
mod read;

use baywright_domain::id::{CustomerId, QuoteId};
use baywright_domain::invoice::State;
use baywright_domain::money::{Currency, Money};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::form::InvoiceDocument;
use super::usecase::{Invoice, Wanted};
use crate::platform::answer::Versioned;
use crate::platform::fail::Done;
use crate::platform::tx::Tx;
use crate::platform::wire::{Amount, Day, Instant, Line, Reference, Word, Words};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(read::list).service(read::show).service(read::sealed);
    config
        .service(change::create)
        .service(change::redraft)
        .service(change::issue)
        .service(change::send)
        .service(change::write_off);
}

crate::wire_words! { State => "InvoiceState" }

/// A state as it travels.
pub type StateWord = Word<State>;

type StateWords = Words<State>;

/// Which invoices are wanted.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct InvoiceFilter {
    /// Only invoices in one of these states.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    state: StateWords,
    /// Only this customer's.
    #[param(nullable = false)]
    customer_id: Option<Reference>,
    /// Only those made of this quote.
    #[param(nullable = false)]
    quote_id: Option<Reference>,
    /// Only the one of this number.
    #[param(nullable = false)]
    number: Option<Line<40>>,
    /// Only those with something open whose last day to pay was before this day.
    #[param(nullable = false)]
    due_before: Option<Day>,
}

impl From<InvoiceFilter> for Wanted {
    fn from(filter: InvoiceFilter) -> Self {
        Self {
            states: filter.state.0,
            customer: filter.customer_id.map(|id| CustomerId::new(id.into_string())),
            quote: filter.quote_id.map(|id| QuoteId::new(id.into_string())),
            number: filter.number.map(Line::into_string),
            due_before: filter.due_before.map(|day| day.0),
        }
    }
}

/// An invoice.
#[derive(Debug, Serialize, ToSchema)]
pub struct InvoiceView {
    /// The invoice's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Where it stands.
    state: StateWord,
    /// Its number; null in a draft.
    #[schema(max_length = 40, example = "INV-2026-0042")]
    number: Option<String>,
    /// Whose it is.
    customer_id: Reference,
    /// The buyer's name.
    #[schema(max_length = 200)]
    buyer_name: String,
    /// The signed quote it was made of; null where there is none.
    quote_id: Option<Reference>,
    /// The day it was issued; null in a draft.
    issued_on: Option<Day>,
    /// The last day to pay in time; null in a draft.
    due_on: Option<Day>,
    /// What is to be paid.
    payable: Amount,
    /// What is still open; nothing in a draft.
    open: Amount,
    /// What was paid.
    paid: Amount,
    /// What was given up.
    written_off: Amount,
    /// For how many days it has been overdue.
    #[schema(minimum = 0, maximum = 1_000_000)]
    overdue_days: u64,
    /// SHA-256 of the sealed document; null in a draft.
    #[schema(min_length = 64, max_length = 64)]
    digest: Option<String>,
    /// When it was mailed last; null where it never was.
    mailed_at: Option<Instant>,
    /// When the record was made.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

/// An invoice with its document.
#[derive(Debug, Serialize, ToSchema)]
pub struct InvoiceWithDocument {
    /// What is known of it.
    #[serde(flatten)]
    invoice: InvoiceView,
    /// The document; sealed once the invoice is issued.
    document: InvoiceDocument,
}

crate::versioned!(InvoiceView);

impl Versioned for InvoiceWithDocument {
    fn version(&self) -> i64 {
        self.invoice.version
    }
}

impl InvoiceView {
    /// The invoice on that day.
    fn of(invoice: &Invoice, currency: Currency, today: chrono::NaiveDate) -> Self {
        let amount = |money: Money| Amount::of(money, currency);
        let account = invoice.account;
        let open = !account.open.is_zero();
        let days = invoice.due_on.filter(|_| open).map_or(0, |due| baywright_domain::invoice::days_overdue(due, today));
        Self {
            id: Reference::from(&invoice.id),
            version: invoice.version,
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
            written_off: amount(invoice.written_off),
            overdue_days: days,
            digest: invoice.digest.clone(),
            mailed_at: invoice.mailed_at.map(Instant),
            created_at: Instant(invoice.created_at),
            updated_at: Instant(invoice.updated_at),
        }
    }
}

/// The invoice as it is answered.
fn view(tx: &Tx<'_>, invoice: &Invoice) -> Done<InvoiceView> {
    Ok(InvoiceView::of(invoice, tx.studio.currency, tx.today()?))
}

/// The invoice with its document as it is answered.
fn whole(tx: &Tx<'_>, invoice: &Invoice) -> Done<InvoiceWithDocument> {
    Ok(InvoiceWithDocument { invoice: view(tx, invoice)?, document: invoice.document()? })
}
