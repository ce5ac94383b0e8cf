//! What a request says of a customer.

use baywright_domain::customer::{ConsentKind, CustomerKind};
use baywright_domain::vat_id::VatId;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{ConsentWord, KindWord, PricesWord};
use crate::customer::usecase::merge::MOST_REACHES;
use crate::customer::usecase::{self, GivenConsent};
use crate::platform::problem::Problem;
use crate::platform::wire::{CountryCode, Email, Instant, Language, Line, Phone, Text, Word};

/// The most lines of an address above the city.
const MOST_LINES: usize = 4;

/// What is known of a customer.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CustomerBody {
    /// Who they are to the tax office; `PRIVATE` where not said.
    #[serde(default = "private")]
    #[schema(required = false)]
    kind: KindWord,
    /// The shop's own number for them, unique in the shop.
    #[serde(default)]
    #[schema(example = "C-1042")]
    reference: Option<Line<40>>,
    /// Full name, or the firm's name.
    #[schema(example = "Aoife Byrne")]
    name: Line<200>,
    /// Whom to ask for at a firm.
    #[serde(default)]
    contact_name: Option<Line<200>>,
    /// Mail addresses, the main one first.
    #[serde(default)]
    #[schema(max_items = 5)]
    emails: Vec<Email>,
    /// Telephone numbers as they are dialled, the main one first.
    #[serde(default)]
    #[schema(max_items = 5)]
    phones: Vec<Phone>,
    /// Where bills go.
    #[serde(default)]
    address: Option<AddressBody>,
    /// VAT number with its country's prefix, such as `IE1234567FA`.
    #[serde(default)]
    #[schema(example = "IE1234567FA")]
    vat_id: Option<Line<30>>,
    /// Whether a quote or invoice needs their purchase-order number.
    #[serde(default)]
    purchase_order_required: bool,
    /// How prices are shown to them, where it differs from what their kind gets.
    #[serde(default)]
    prices: Option<PricesWord>,
    /// What they agreed to. One that was left out since is taken back now.
    #[serde(default)]
    #[schema(max_items = 4)]
    consents: Vec<ConsentBody>,
    /// What the shop wants to remember.
    #[serde(default)]
    notes: Text<4000>,
    /// The language they are written to in; `en` where not said.
    #[serde(default)]
    #[schema(required = false)]
    language: Language,
}

fn private() -> KindWord {
    Word(CustomerKind::Private)
}

/// A postal address.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddressBody {
    /// Street and number, and what else stands above the city.
    #[schema(min_items = 1, max_items = 4, example = json!(["4 Harbour Row"]))]
    lines: Vec<Line<100>>,
    /// City, town or village.
    #[schema(example = "Cork")]
    city: Line<100>,
    /// Postcode.
    #[serde(default)]
    postcode: Option<Line<20>>,
    /// State, county or province.
    #[serde(default)]
    region: Option<Line<100>>,
    /// Country.
    country: CountryCode,
}

/// A consent that stands.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ConsentBody {
    /// To what.
    kind: ConsentWord,
    /// How it was given.
    #[schema(example = "by phone")]
    how: Line<200>,
    /// When; now where not said.
    #[serde(default)]
    given_at: Option<Instant>,
}

impl CustomerBody {
    /// Checks what single values can't, and gives what is known and what stands.
    pub fn checked(self) -> Result<(usecase::Details, Vec<GivenConsent>), Problem> {
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
            vat_id: vat_id.map_err(|error| Problem::field("/vat_id", "bad_vat_id", format!("{error}.")))?,
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
    fn checked(self) -> Result<usecase::Address, Problem> {
        at_most("/address/lines", self.lines.len(), MOST_LINES)?;
        if self.lines.is_empty() {
            return Err(Problem::field("/address/lines", "empty", "Write the street, or another line above the city."));
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

fn at_most(pointer: &str, count: usize, most: usize) -> Result<(), Problem> {
    if count > most {
        return Err(Problem::field(pointer, "too_many", format!("Send at most {most}.")));
    }
    Ok(())
}
