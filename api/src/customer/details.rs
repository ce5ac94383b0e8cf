//! What is known of a customer, as the use cases see it.

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

/// What the desk writes down of a customer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Details {
    /// Who they are to the tax office.
    pub kind: CustomerKind,
    /// The shop's own number for them, unique in the shop.
    pub reference: Option<String>,
    /// Full name, or the firm's name.
    pub name: String,
    /// Whom to ask for at a firm.
    pub contact_name: Option<String>,
    /// Email addresses, the main one first.
    pub emails: Vec<String>,
    /// Telephone numbers as typed, the main one first.
    pub phones: Vec<String>,
    /// Where bills go.
    pub address: Option<Address>,
    /// The number by which the tax office knows them.
    pub vat_id: Option<VatId>,
    /// Whether a quote or invoice needs their purchase-order number.
    pub purchase_order_required: bool,
    /// How prices are shown to them, if it differs from what their kind gets.
    pub prices: Option<Prices>,
    /// What the shop wants to remember.
    pub notes: String,
    /// The language they are written to in.
    pub language: String,
}

/// A postal address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Address {
    /// Street and number, and what else stands above the city; one to four lines.
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

/// A consent that the desk says stands now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GivenConsent {
    /// Kind of the consent.
    pub kind: ConsentKind,
    /// How it was given, such as `by phone`.
    pub how: String,
    /// Time when it was given; `None` for now.
    pub given_at: Option<UtcTime>,
}

/// A consent as it is kept; one that was taken back stays.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeptConsent {
    /// To what, from when, until when.
    pub consent: Consent,
    /// How it was given.
    pub how: String,
}

/// A customer as it stands.
#[derive(Debug, Clone)]
pub struct Customer {
    /// The customer's id.
    pub id: CustomerId,
    /// Counts the changes.
    pub version: i64,
    /// What is known.
    pub details: Details,
    /// What they agreed to, oldest first, with what they took back.
    pub consents: Vec<KeptConsent>,
    /// The record that goes on in place of this one.
    pub merged_into: Option<CustomerId>,
    /// When what is known of them was erased at their wish.
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

    /// What tells them from others; telephone numbers without a country's code are of `country`.
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
    /// Where the record stands.
    pub fn state(&self) -> RecordState {
        match (&self.erased_at, &self.merged_into) {
            (Some(_), _) => RecordState::Erased,
            (None, Some(_)) => RecordState::Merged,
            (None, None) => RecordState::Active,
        }
    }

    /// How prices are shown to them: their own way, or that of their kind in the shop.
    pub fn prices(&self, settings: &Settings) -> Prices {
        self.details.prices.unwrap_or_else(|| settings.prices(self.details.kind))
    }

    /// The main email address.
    pub fn email(&self) -> Option<&str> {
        self.details.emails.first().map(String::as_str)
    }

    /// Whether they agreed, and have not taken it back by then.
    pub fn consents_to(&self, kind: ConsentKind, at: UtcTime) -> bool {
        let all: Vec<Consent> = self.consents.iter().map(|kept| kept.consent).collect();
        baywright_domain::customer::consents(&all, kind, at.datetime())
    }

    /// The first word of the name, which is all that the crew is told.
    pub fn first_name(&self) -> &str {
        self.details.name.split_whitespace().next().unwrap_or_default()
    }

    /// Under what the customer is found, also by what the records say that were merged into this one; telephone numbers
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
