//! Profile and terms over HTTP.

use actix_web::{get, put};
use baywright_core::platform::faults::Faults;
use baywright_core::platform::identity::{Anyone, Desk};
use baywright_core::platform::refusal::Refused;
use baywright_core::shop::usecase::{self, Address, Profile, Shop, Terms};
use baywright_domain::calendar::{UnknownZone, Zone};
use baywright_domain::money::Currency;
use baywright_domain::payment::Iban;
use baywright_domain::vat_id::VatId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::terms::TermsBody;
use crate::platform::answer::{Answer, item};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::wire::{CountryCode, Email, Instant, Line, Phone, Reference};

/// Profile and terms of a shop. The currency was fixed when the shop was set up.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShopBody {
    /// Trading name of the shop.
    #[schema(example = "Harbour Detailing")]
    name: Line<200>,
    /// Legal name of the shop, for invoices; the trading name if null or left out.
    #[serde(default)]
    #[schema(example = "Harbour Detailing Ltd")]
    legal_name: Option<Line<200>>,
    /// IANA name of the shop's time zone, such as `Europe/Dublin`.
    #[schema(example = "Europe/Dublin")]
    zone: Line<60>,
    /// Address of the shop; null or left out if unknown.
    #[serde(default)]
    address: Option<ShopAddress>,
    /// Email address of the shop, which also receives replies to its mails; null or left out if there is none.
    #[serde(default)]
    email: Option<Email>,
    /// Telephone number of the shop; null or left out if there is none.
    #[serde(default)]
    phone: Option<Phone>,
    /// VAT number of the shop with its country's prefix; null or left out if there is none.
    #[serde(default)]
    #[schema(example = "IE1234567FA")]
    vat_id: Option<Line<30>>,
    /// Company registration number; null or left out if there is none.
    #[serde(default)]
    company_number: Option<Line<40>>,
    /// IBAN of the account that customers pay to (ISO 13616); null or left out if there is none.
    #[serde(default)]
    #[schema(example = "IE29AIBK93115212345678")]
    iban: Option<Line<42>>,
    /// Terms on which the shop deals with its customers.
    terms: TermsBody,
}

/// Postal address of a shop; parts may be missing.
#[derive(Debug, Clone, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShopAddress {
    /// Street and number; null or left out if unknown.
    #[serde(default)]
    #[schema(example = "4 Harbour Row")]
    street: Option<Line<100>>,
    /// Postcode; null or left out if unknown.
    #[serde(default)]
    postcode: Option<Line<20>>,
    /// City, town or village; null or left out if unknown.
    #[serde(default)]
    #[schema(example = "Cork")]
    city: Option<Line<100>>,
    /// Country code, ISO 3166-1; null or left out if unknown.
    #[serde(default)]
    country: Option<CountryCode>,
}

/// Profile and terms of a shop.
#[derive(Debug, Serialize, ToSchema)]
pub struct ShopView {
    /// Id of the shop.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Trading name of the shop.
    #[schema(max_length = 200)]
    name: String,
    /// Legal name of the shop.
    #[schema(max_length = 200)]
    legal_name: String,
    /// Currency of all documents of the shop, ISO 4217.
    #[schema(min_length = 3, max_length = 3, example = "EUR")]
    currency: String,
    /// IANA name of the shop's time zone.
    #[schema(max_length = 60, example = "Europe/Dublin")]
    zone: String,
    /// Address of the shop.
    address: ShopAddress,
    /// Email address of the shop; null if there is none.
    #[schema(max_length = 254)]
    email: Option<String>,
    /// Telephone number of the shop; null if there is none.
    #[schema(max_length = 60)]
    phone: Option<String>,
    /// VAT number of the shop; null if there is none.
    #[schema(max_length = 30)]
    vat_id: Option<String>,
    /// Company registration number; null if there is none.
    #[schema(max_length = 40)]
    company_number: Option<String>,
    /// IBAN of the account that customers pay to; null if there is none.
    #[schema(max_length = 42)]
    iban: Option<String>,
    /// Terms on which the shop deals with its customers.
    terms: TermsBody,
    /// Time when the shop was set up, RFC 3339 in UTC.
    created_at: Instant,
    /// Time of the last change, RFC 3339 in UTC.
    updated_at: Instant,
}

crate::versioned!(ShopView);

impl ShopBody {
    /// Checks rules that concern several values, and returns profile and terms.
    ///
    /// # Errors
    /// 422 with every fault.
    fn read(&self, currency: Currency) -> Result<(Profile, Terms), Refused> {
        let mut faults = Faults::default();
        let profile = self.profile(&mut faults);
        let unknown = |error: UnknownZone| Refused::field("/zone", "unknown", format!("{error}."));
        let zone = faults.note(Zone::named(self.zone.as_str()).map_err(unknown));
        let terms = self.terms.terms(currency, &mut faults);
        faults.all_or(zone.and(profile).zip(terms))
    }

    fn profile(&self, faults: &mut Faults) -> Option<Profile> {
        let address = self.address.clone().unwrap_or_default();
        let vat_id = self.vat_id.as_ref().map(|text| VatId::parse(text.as_str())).transpose();
        let vat_id = faults.note(vat_id.map_err(|e| Refused::field("/vat_id", "bad_vat_id", format!("{e}."))));
        let iban = self.iban.as_ref().map(|text| Iban::parse(text.as_str())).transpose();
        let iban = faults.note(iban.map_err(|e| Refused::field("/iban", "bad_iban", format!("{e}."))));
        let name = self.name.clone().into_string();
        Some(Profile {
            legal_name: self.legal_name.clone().map_or_else(|| name.clone(), Line::into_string),
            name,
            address: Address {
                street: address.street.map(Line::into_string),
                postcode: address.postcode.map(Line::into_string),
                city: address.city.map(Line::into_string),
                country: address.country.map(|code| code.0),
            },
            email: self.email.clone().map(Email::into_string),
            phone: self.phone.clone().map(Phone::into_string),
            vat_id: vat_id?.map(|id| id.as_str().to_owned()),
            company_number: self.company_number.clone().map(Line::into_string),
            iban: iban?.map(|iban| iban.as_str().to_owned()),
        })
    }
}

impl From<Shop> for ShopView {
    fn from(shop: Shop) -> Self {
        let profile = shop.found.profile;
        Self {
            id: Reference::from(&shop.id),
            version: shop.found.version,
            name: profile.name,
            legal_name: profile.legal_name,
            currency: shop.currency.code().to_owned(),
            zone: shop.zone,
            address: ShopAddress {
                street: profile.address.street.and_then(|text| Line::parse(&text).ok()),
                postcode: profile.address.postcode.and_then(|text| Line::parse(&text).ok()),
                city: profile.address.city.and_then(|text| Line::parse(&text).ok()),
                country: profile.address.country.map(CountryCode),
            },
            email: profile.email,
            phone: profile.phone,
            vat_id: profile.vat_id,
            company_number: profile.company_number,
            iban: profile.iban,
            terms: TermsBody::of(&shop.terms, shop.currency),
            created_at: Instant(shop.found.created_at),
            updated_at: Instant(shop.found.updated_at),
        }
    }
}

/// Read the shop.
///
/// Returns its profile and terms. Rates, taxes, hours and bays have paths of their own.
#[utoipa::path(tag = "shop",
    responses((status = 200, description = "Profile and terms of the shop.", body = ShopView),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/shop")]
pub(super) async fn show(call: Call<Anyone>, known: IfNoneMatch) -> Answer {
    let shop = call.read(usecase::show).await?;
    Ok(item(&ShopView::from(shop), &known))
}

/// Replace the shop's profile and terms.
///
/// Fields that are left out become empty. Quotes that were sent keep the terms with which they were sent. Values that break
/// a rule are all reported at once.
#[utoipa::path(tag = "shop", request_body = ShopBody, extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The shop after the change.", body = ShopView)))]
#[put("/v1/shop")]
pub(super) async fn replace(call: Call<Desk>, IfMatch(seen): IfMatch, body: Body<ShopBody>) -> Answer {
    let body = body.value;
    call.change(move |tx| {
        let (profile, terms) = body.read(tx.studio.currency)?;
        Ok(ShopView::from(usecase::replace(tx, seen, &profile, body.zone.as_str(), &terms)?))
    })
    .await
}
