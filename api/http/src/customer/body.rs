//! Bodies of requests about customers.

use baywright_core::customer::usecase::merge::MOST_REACHES;
use baywright_core::customer::usecase::{self, GivenConsent};
use baywright_core::platform::refusal::Refused;
use baywright_domain::customer::{ConsentKind, CustomerKind};
use baywright_domain::vat_id::VatId;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{ConsentWord, KindWord, PricesWord};
use crate::platform::wire::{CountryCode, Email, Instant, Language, Line, Phone, Text, Word};

/// Maximum number of lines of an address above the city.
const MOST_LINES: usize = 4;

/// Details of a customer.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CustomerBody {
    /// Kind of customer for tax: `PRIVATE` or `TRADE`; `PRIVATE` if left out.
    #[serde(default = "private")]
    #[schema(required = false)]
    kind: KindWord,
    /// Customer number of the shop's own, unique in the shop; null or left out for none.
    #[serde(default)]
    #[schema(example = "C-1042")]
    reference: Option<Line<40>>,
    /// Full name of a person, or name of a firm.
    #[schema(example = "Aoife Byrne")]
    name: Line<200>,
    /// Contact person at a firm; null or left out for none.
    #[serde(default)]
    contact_name: Option<Line<200>>,
    /// Email addresses, main one first.
    #[serde(default)]
    #[schema(max_items = 5)]
    emails: Vec<Email>,
    /// Telephone numbers as they are dialled, main one first.
    #[serde(default)]
    #[schema(max_items = 5)]
    phones: Vec<Phone>,
    /// Postal address for bills; null or left out if unknown.
    #[serde(default)]
    address: Option<AddressBody>,
    /// VAT number with its country's prefix, such as `IE1234567FA`; null or left out for none.
    #[serde(default)]
    #[schema(example = "IE1234567FA")]
    vat_id: Option<Line<30>>,
    /// Whether a quote or invoice needs the customer's purchase-order number.
    #[serde(default)]
    purchase_order_required: bool,
    /// Price display for this customer, with tax (`GROSS`) or before tax (`NET`); null or left out for the usual one of
    /// their kind.
    #[serde(default)]
    prices: Option<PricesWord>,
    /// Consents that the customer gives now. A consent that is no longer listed is withdrawn.
    #[serde(default)]
    #[schema(max_items = 4)]
    consents: Vec<ConsentBody>,
    /// Notes that the shop keeps about the customer.
    #[serde(default)]
    notes: Text<4000>,
    /// Language of mails and documents for the customer; `en` if left out.
    #[serde(default)]
    #[schema(required = false)]
    language: Language,
}

fn private() -> KindWord {
    Word(CustomerKind::Private)
}

/// Postal address.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddressBody {
    /// Address lines above the city, such as street and number.
    #[schema(min_items = 1, max_items = 4, example = json!(["4 Harbour Row"]))]
    lines: Vec<Line<100>>,
    /// City, town or village.
    #[schema(example = "Cork")]
    city: Line<100>,
    /// Postcode; null or left out if there is none.
    #[serde(default)]
    postcode: Option<Line<20>>,
    /// State, county or province; null or left out if there is none.
    #[serde(default)]
    region: Option<Line<100>>,
    /// Country code, ISO 3166-1.
    country: CountryCode,
}

/// Consent that is given now.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ConsentBody {
    /// Kind of consent: to mails, to calls, to marketing or to the use of photographs.
    kind: ConsentWord,
    /// Description of how the consent was given, such as by phone.
    #[schema(example = "by phone")]
    how: Line<200>,
    /// Time when the consent was given, RFC 3339; the current time if null or left out.
    #[serde(default)]
    given_at: Option<Instant>,
}

impl CustomerBody {
    /// Checks rules that concern several values, and returns the details and the consents.
    pub fn checked(self) -> Result<(usecase::Details, Vec<GivenConsent>), Refused> {
        at_most("/emails", self.emails.len(), MOST_REACHES)?;
        at_most("/phones", self.phones.len(), MOST_REACHES)?;
        at_most("/consents", self.consents.len(), ConsentKind::ALL.len())?;
        let vat_id = self.vat_id.map(|written| VatId::parse(written.as_str())).transpose();
        let details = usecase::Details {
            kind: self.kind.0,
            reference: self.reference.map(String::from),
            name: self.name.into(),
            contact_name: self.contact_name.map(String::from),
            emails: self.emails.into_iter().map(String::from).collect(),
            phones: self.phones.into_iter().map(String::from).collect(),
            address: self.address.map(AddressBody::checked).transpose()?,
            vat_id: vat_id.map_err(|error| Refused::field("/vat_id", "bad_vat_id", format!("{error}.")))?,
            purchase_order_required: self.purchase_order_required,
            prices: self.prices.map(|word| word.0),
            notes: self.notes.into(),
            language: self.language.into(),
        };
        let consents = self.consents.into_iter().map(|consent| GivenConsent {
            kind: consent.kind.0,
            how: consent.how.into(),
            given_at: consent.given_at.map(|instant| instant.0),
        });
        Ok((details, consents.collect()))
    }
}

impl AddressBody {
    fn checked(self) -> Result<usecase::Address, Refused> {
        at_most("/address/lines", self.lines.len(), MOST_LINES)?;
        if self.lines.is_empty() {
            return Err(Refused::field("/address/lines", "empty", "Write the street, or another line above the city."));
        }
        Ok(usecase::Address {
            lines: self.lines.into_iter().map(String::from).collect(),
            city: self.city.into(),
            postcode: self.postcode.map(String::from),
            region: self.region.map(String::from),
            country: self.country.0,
        })
    }
}

fn at_most(pointer: &str, count: usize, most: usize) -> Result<(), Refused> {
    if count > most {
        return Err(Refused::field(pointer, "too_many", format!("Send at most {most}.")));
    }
    Ok(())
}
