//! Views of a customer.

use baywright_core::customer::usecase::{self, Customer, KeptConsent};
use baywright_core::platform::clock::UtcTime;
use serde::Serialize;
use utoipa::ToSchema;

use super::{ConsentWord, KindWord, PricesWord, StateWord};
use crate::platform::wire::{CountryCode, Email, Instant, Line, Reference, Word};

/// Consent as it is stored.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct ConsentView {
    /// Kind of consent: to mails, to calls, to marketing or to the use of photographs.
    kind: ConsentWord,
    /// Description of how the consent was given, such as by phone.
    #[schema(max_length = 200)]
    how: String,
    /// Time when the consent was given, RFC 3339 in UTC.
    given_at: Instant,
    /// Time when the consent was withdrawn, RFC 3339 in UTC; null if it is still valid.
    withdrawn_at: Option<Instant>,
}

/// Customer of the shop.
#[derive(Debug, Serialize, ToSchema)]
pub struct CustomerView {
    /// Id of the customer.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Kind of customer for tax: `PRIVATE` or `TRADE`.
    kind: KindWord,
    /// Customer number of the shop's own; null if there is none.
    #[schema(max_length = 40)]
    reference: Option<String>,
    /// Full name of a person, or name of a firm.
    #[schema(max_length = 200)]
    name: String,
    /// Contact person at a firm; null if there is none.
    #[schema(max_length = 200)]
    contact_name: Option<String>,
    /// Email addresses, main one first.
    #[schema(value_type = Vec<Email>, max_items = 5)]
    emails: Vec<String>,
    /// Telephone numbers as they were typed, main one first.
    #[schema(value_type = Vec<Line<60>>, max_items = 5)]
    phones: Vec<String>,
    /// Postal address for bills; null if unknown.
    address: Option<AddressView>,
    /// VAT number with its country's prefix; null if there is none.
    #[schema(max_length = 20)]
    vat_id: Option<String>,
    /// Whether a quote or invoice needs the customer's purchase-order number.
    purchase_order_required: bool,
    /// Price display for this customer, with tax (`GROSS`) or before tax (`NET`); null for the usual one of their kind.
    prices: Option<PricesWord>,
    /// Consents of the customer, oldest first, including withdrawn ones.
    #[schema(max_items = 1000)]
    consents: Vec<ConsentView>,
    /// Notes that the shop keeps about the customer.
    #[schema(max_length = 4000)]
    notes: String,
    /// Language of mails and documents for the customer.
    #[schema(max_length = 6)]
    language: String,
    /// State of the record: active, merged into another record, or erased.
    state: StateWord,
    /// Id of the record that this one was merged into; null if it was not merged.
    merged_into: Option<Reference>,
    /// Time when the customer's data was erased, RFC 3339 in UTC; null if it was not.
    erased_at: Option<Instant>,
    /// Time when the record was created, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(CustomerView);

/// Postal address.
#[derive(Debug, Serialize, ToSchema)]
pub struct AddressView {
    /// Address lines above the city, such as street and number.
    #[schema(value_type = Vec<Line<100>>, max_items = 4)]
    lines: Vec<String>,
    /// City, town or village.
    #[schema(max_length = 100)]
    city: String,
    /// Postcode; null if there is none.
    #[schema(max_length = 20)]
    postcode: Option<String>,
    /// State, county or province; null if there is none.
    #[schema(max_length = 100)]
    region: Option<String>,
    /// Country code, ISO 3166-1.
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
