//! Who offers, to whom, for which vehicle, and what was found on it.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::words::{ConditionWord, CustomerKindWord, PowertrainWord, SizeWord};
use crate::platform::wire::{Instant, Reference};

/// The studio that offers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteStudio {
    /// Its trading name.
    #[schema(max_length = 200)]
    pub name: String,
    /// Its legal name; empty where it is not set.
    #[schema(max_length = 200)]
    pub legal_name: String,
    /// Its address, line by line.
    #[schema(max_items = 8, value_type = Vec<crate::platform::wire::Line<200>>)]
    pub address: Vec<String>,
    /// Its mail address; empty where it is not set.
    #[schema(max_length = 254)]
    pub email: String,
    /// Its telephone number; empty where it is not set.
    #[schema(max_length = 60)]
    pub phone: String,
    /// Its VAT identification number; empty where it has none.
    #[schema(max_length = 40)]
    pub vat_id: String,
    /// Its IANA time zone, in which days and times are shown.
    #[schema(max_length = 60, example = "Europe/Dublin")]
    pub zone: String,
    /// The currency of all amounts (ISO 4217).
    #[schema(min_length = 3, max_length = 3, example = "EUR")]
    pub currency: String,
}

/// The customer to whom it is offered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteCustomer {
    /// The customer's record.
    pub id: Reference,
    /// Full name, or the firm's name.
    #[schema(max_length = 200)]
    pub name: String,
    /// Private or trade.
    pub kind: CustomerKindWord,
    /// The mail address that the quote goes to; null where there is none.
    #[schema(max_length = 254)]
    pub email: Option<String>,
    /// Address, line by line; empty where it is not known.
    #[schema(max_items = 8, value_type = Vec<crate::platform::wire::Line<200>>)]
    pub address: Vec<String>,
}

/// The vehicle that the work is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteVehicle {
    /// The vehicle's record.
    pub id: Reference,
    /// What people call it: make, model, colour, as far as known.
    #[schema(max_length = 300, example = "Estate car, dark blue")]
    pub name: String,
    /// Its registration; empty where it has none.
    #[schema(max_length = 40)]
    pub registration: String,
    /// Its vehicle identification number; empty where it is not known.
    #[schema(max_length = 40)]
    pub vin: String,
    /// How large it is, for prices and times.
    pub size: SizeWord,
    /// What drives it.
    pub powertrain: PowertrainWord,
}

/// What was found when the vehicle was looked at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteInspection {
    /// The inspection's record.
    pub id: Reference,
    /// When the vehicle was looked at.
    pub at: Instant,
    /// The condition that came of it.
    pub condition: ConditionWord,
    /// Why it is that condition, in sentences.
    #[schema(max_items = 50, value_type = Vec<crate::platform::wire::Text<2000>>)]
    pub reasons: Vec<String>,
    /// Odometer reading as it was written, with its unit; empty where it was not read.
    #[schema(max_length = 40)]
    pub odometer: String,
    /// What can't be put right, as it was explained.
    #[schema(max_length = 4000)]
    pub beyond_repair: String,
    /// Damage and soil, panel by panel.
    #[schema(max_items = 500)]
    pub findings: Vec<QuoteFinding>,
    /// Photographs that belong to no finding.
    #[schema(max_items = 200)]
    pub photos: Vec<QuotePhoto>,
}

/// One thing found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteFinding {
    /// Where, in the trade's words.
    #[schema(max_length = 100, example = "front bumper")]
    pub panel: String,
    /// What, in the trade's words.
    #[schema(max_length = 100, example = "deep scratch")]
    pub what: String,
    /// How bad, in the trade's words; empty where that is not said.
    #[schema(max_length = 100, example = "severe")]
    pub severity: String,
    /// What was noted beside it.
    #[schema(max_length = 2000)]
    pub note: String,
    /// Its photographs.
    #[schema(max_items = 50)]
    pub photos: Vec<QuotePhoto>,
}

/// A photograph, known by its digest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuotePhoto {
    /// The photograph's record.
    pub id: Reference,
    /// SHA-256 of its file, in lower-case hex, so that another picture can't take its place.
    #[schema(
        min_length = 64,
        max_length = 64,
        example = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    )]
    pub sha256: String,
}

impl QuoteInspection {
    /// Every photograph, with those of findings.
    pub fn all_photos(&self) -> impl Iterator<Item = &QuotePhoto> {
        self.findings.iter().flat_map(|finding| &finding.photos).chain(&self.photos)
    }
}
