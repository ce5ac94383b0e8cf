//! A customer as it is answered.

use serde::Serialize;
use utoipa::ToSchema;

use super::{ConsentWord, KindWord, PricesWord, StateWord};
use crate::customer::usecase::{self, Customer, KeptConsent};
use crate::platform::clock::UtcTime;
use crate::platform::wire::{CountryCode, Email, Instant, Line, Reference, Word};

/// A consent as it is kept.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ConsentView {
    /// To what.
    kind: ConsentWord,
    /// How it was given.
    #[schema(max_length = 200)]
    how: String,
    /// When it was given.
    given_at: Instant,
    /// When it was taken back.
    withdrawn_at: Option<Instant>,
}

/// A customer.
#[derive(Debug, Serialize, ToSchema)]
pub struct CustomerView {
    /// The customer's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Who they are to the tax office.
    kind: KindWord,
    /// The shop's own number for them.
    #[schema(max_length = 40)]
    reference: Option<String>,
    /// Full name, or the firm's name.
    #[schema(max_length = 200)]
    name: String,
    /// Whom to ask for at a firm.
    #[schema(max_length = 200)]
    contact_name: Option<String>,
    /// Mail addresses, the main one first.
    #[schema(value_type = Vec<Email>, max_items = 5)]
    emails: Vec<String>,
    /// Telephone numbers as typed, the main one first.
    #[schema(value_type = Vec<Line<60>>, max_items = 5)]
    phones: Vec<String>,
    /// Where bills go.
    address: Option<AddressView>,
    /// VAT number.
    #[schema(max_length = 20)]
    vat_id: Option<String>,
    /// Whether a quote or invoice needs their purchase-order number.
    purchase_order_required: bool,
    /// How prices are shown to them, where it differs from what their kind gets.
    prices: Option<PricesWord>,
    /// What they agreed to, oldest first, with what they took back.
    #[schema(max_items = 1000)]
    consents: Vec<ConsentView>,
    /// What the shop wants to remember.
    #[schema(max_length = 4000)]
    notes: String,
    /// The language they are written to in.
    #[schema(max_length = 6)]
    language: String,
    /// Where the record stands.
    state: StateWord,
    /// Id of the record that goes on in its place, if it was merged into another one.
    merged_into: Option<Reference>,
    /// When what was known of them was erased at their wish.
    erased_at: Option<Instant>,
    /// When the record was made.
    created_at: Instant,
    /// When it last changed.
    updated_at: Instant,
}

crate::versioned!(CustomerView);

/// A postal address.
#[derive(Debug, Serialize, ToSchema)]
pub struct AddressView {
    /// Street and number, and what else stands above the city.
    #[schema(value_type = Vec<Line<100>>, max_items = 4)]
    lines: Vec<String>,
    /// City, town or village.
    #[schema(max_length = 100)]
    city: String,
    /// Postcode.
    #[schema(max_length = 20)]
    postcode: Option<String>,
    /// State, county or province.
    #[schema(max_length = 100)]
    region: Option<String>,
    /// Country.
    country: CountryCode,
}

impl From<usecase::Address> for AddressView {
    fn from(address: usecase::Address) -> Self {
        Self {
            lines: address.lines,
            city: address.city,
            postcode: address.postcode,
            region: address.region,
            country: CountryCode(address.country),
        }
    }
}

impl From<KeptConsent> for ConsentView {
    fn from(kept: KeptConsent) -> Self {
        let instant = |time| Instant(UtcTime::from(time));
        Self {
            kind: Word(kept.consent.kind),
            how: kept.how,
            given_at: instant(kept.consent.given_at),
            withdrawn_at: kept.consent.withdrawn_at.map(instant),
        }
    }
}

impl From<Customer> for CustomerView {
    fn from(customer: Customer) -> Self {
        let state = customer.state();
        let details = customer.details;
        Self {
            id: Reference::from(&customer.id),
            version: customer.version,
            kind: Word(details.kind),
            reference: details.reference,
            name: details.name,
            contact_name: details.contact_name,
            emails: details.emails,
            phones: details.phones,
            address: details.address.map(AddressView::from),
            vat_id: details.vat_id.map(|vat_id| vat_id.to_string()),
            purchase_order_required: details.purchase_order_required,
            prices: details.prices.map(Word),
            consents: customer.consents.into_iter().map(ConsentView::from).collect(),
            notes: details.notes,
            language: details.language,
            state: Word(state),
            merged_into: customer.merged_into.as_ref().map(Reference::from),
            erased_at: customer.erased_at.map(Instant),
            created_at: Instant(customer.created_at),
            updated_at: Instant(customer.updated_at),
        }
    }
}
