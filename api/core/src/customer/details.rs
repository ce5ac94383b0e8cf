//! Details of a customer, as the use cases read them.

use baywright_domain::country::Country;
use baywright_domain::customer::{Consent, ConsentKind, CustomerKind, Traits};
use baywright_domain::document::Prices;
use baywright_domain::id::CustomerId;
use baywright_domain::merge::RecordState;
use baywright_domain::search::Words;
use baywright_domain::vat_id::VatId;

use crate::platform::clock::UtcTime;
use crate::platform::phone;
use crate::search::usecase::Hit;
use crate::shop::usecase::Settings;

/// Details of a customer that the desk enters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Details {
    /// Kind of customer for tax.
    pub kind: CustomerKind,
    /// The shop's own number for the customer, unique in the shop.
    pub reference: Option<String>,
    /// Full name, or the firm's name.
    pub name: String,
    /// Contact person at a firm.
    pub contact_name: Option<String>,
    /// Email addresses, the main one first.
    pub emails: Vec<String>,
    /// Telephone numbers as typed, the main one first.
    pub phones: Vec<String>,
    /// Postal address for bills.
    pub address: Option<Address>,
    /// VAT number of the customer.
    pub vat_id: Option<VatId>,
    /// Whether a quote or invoice needs their purchase-order number.
    pub purchase_order_required: bool,
    /// Price display for the customer, if it differs from the usual one of their kind.
    pub prices: Option<Prices>,
    /// Notes of the shop.
    pub notes: String,
    /// Language of mails and documents for the customer.
    pub language: String,
}

/// A postal address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Address {
    /// Street and number, and other lines above the city; one to four lines.
    pub lines: Vec<String>,
    /// City, town or village.
    pub city: String,
    /// Postcode.
    pub postcode: Option<String>,
    /// State, county or province.
    pub region: Option<String>,
    /// Country.
    pub country: Country,
}

/// A consent that the desk says is given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GivenConsent {
    /// Kind of the consent.
    pub kind: ConsentKind,
    /// Description of how it was given, such as `by phone`.
    pub how: String,
    /// Time when it was given; `None` for now.
    pub given_at: Option<UtcTime>,
}

/// A stored consent; one that was withdrawn is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptConsent {
    /// Kind of consent, and when it was given and withdrawn.
    pub consent: Consent,
    /// Description of how it was given.
    pub how: String,
}

/// A customer in their current state.
#[derive(Debug, Clone)]
pub struct Customer {
    /// The customer's id.
    pub id: CustomerId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Details of the customer.
    pub details: Details,
    /// Consents, oldest first, including withdrawn ones.
    pub consents: Vec<KeptConsent>,
    /// The record that replaces this one after a merge.
    pub merged_into: Option<CustomerId>,
    /// Time when the details were erased at the customer's wish.
    pub erased_at: Option<UtcTime>,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

impl Details {
    /// Adds the words under which they are found.
    fn words(&self, words: Words, country: Option<Country>) -> Words {
        let mut words = words.name(&self.name);
        for text in self.contact_name.iter().chain(&self.reference) {
            words = words.text(text);
        }
        words = self.emails.iter().fold(words, |words, address| words.mail(address));
        self.phones.iter().fold(words, |words, typed| words.phone(typed, phone::parse(typed, country).as_ref()))
    }

    /// The details that identify the customer; telephone numbers without a country's code are of `country`.
    pub fn traits(&self, country: Option<Country>) -> Traits {
        Traits {
            reference: self.reference.clone(),
            name: self.name.clone(),
            emails: self.emails.clone(),
            phones: self.phones.iter().map(|written| phone::key(written, country)).collect(),
        }
    }
}

impl Customer {
    /// State of the record.
    pub fn state(&self) -> RecordState {
        match (&self.erased_at, &self.merged_into) {
            (Some(_), _) => RecordState::Erased,
            (None, Some(_)) => RecordState::Merged,
            (None, None) => RecordState::Active,
        }
    }

    /// Price display for the customer: their own, or the usual one of their kind in the shop.
    pub fn prices(&self, settings: &Settings) -> Prices {
        self.details.prices.unwrap_or_else(|| settings.prices(self.details.kind))
    }

    /// The main email address.
    pub fn email(&self) -> Option<&str> {
        self.details.emails.first().map(String::as_str)
    }

    /// Whether they gave this consent and have not withdrawn it by the given time.
    pub fn consents_to(&self, kind: ConsentKind, at: UtcTime) -> bool {
        let all: Vec<Consent> = self.consents.iter().map(|kept| kept.consent).collect();
        baywright_domain::customer::consents(&all, kind, at.datetime())
    }

    /// The first word of the name, which is all that technicians see.
    pub fn first_name(&self) -> &str {
        self.details.name.split_whitespace().next().unwrap_or_default()
    }

    /// Words by which the customer is found, also those of records that were merged into this one; telephone numbers
    /// without a country's code are of `country`.
    pub(super) fn found_as(&self, country: Option<Country>, merged: &[Self]) -> (Hit, Words) {
        let details = &self.details;
        let words = [self].into_iter().chain(merged).fold(Words::new(), |words, one| one.details.words(words, country));
        let hit = Hit {
            kind: "customer".to_owned(),
            id: self.id.to_string(),
            title: details.name.clone(),
            detail: details.phones.first().or(details.emails.first()).cloned().unwrap_or_default(),
        };
        (hit, words)
    }
}
