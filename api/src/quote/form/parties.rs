//! Who offers, to whom, for which vehicle, and what was found on it.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::words::{ConditionWord, CustomerKindWord, PowertrainWord, SizeWord};
use crate::http::wire::{Instant, Reference};

/// Studio that makes the offer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteStudio {
    /// Trading name of the studio.
    #[schema(max_length = 200)]
    pub name: String,
    /// Legal name of the studio; empty if not set.
    #[schema(max_length = 200)]
    pub legal_name: String,
    /// Address of the studio, line by line.
    #[schema(max_items = 8, value_type = Vec<crate::http::wire::Line<200>>)]
    pub address: Vec<String>,
    /// Mail address of the studio; empty if not set.
    #[schema(max_length = 254)]
    pub email: String,
    /// Telephone number of the studio; empty if not set.
    #[schema(max_length = 60)]
    pub phone: String,
    /// VAT number of the studio; empty if there is none.
    #[schema(max_length = 40)]
    pub vat_id: String,
    /// IANA name of the time zone in which days and times are shown.
    #[schema(max_length = 60, example = "Europe/Dublin")]
    pub zone: String,
    /// Currency of all amounts, ISO 4217.
    #[schema(min_length = 3, max_length = 3, example = "EUR")]
    pub currency: String,
}

/// Customer to whom the offer is made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteCustomer {
    /// Id of the customer.
    pub id: Reference,
    /// Full name of a person, or name of a firm.
    #[schema(max_length = 200)]
    pub name: String,
    /// Kind of customer: `PRIVATE` or `TRADE`.
    pub kind: CustomerKindWord,
    /// Mail address that the quote is sent to; null if unknown.
    #[schema(max_length = 254)]
    pub email: Option<String>,
    /// Address of the customer, line by line; empty if unknown.
    #[schema(max_items = 8, value_type = Vec<crate::http::wire::Line<200>>)]
    pub address: Vec<String>,
}

/// Vehicle that the work is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteVehicle {
    /// Id of the vehicle.
    pub id: Reference,
    /// Name of the vehicle: make, model and colour, as far as known.
    #[schema(max_length = 300, example = "Estate car, dark blue")]
    pub name: String,
    /// Registration of the vehicle; empty if it has none.
    #[schema(max_length = 40)]
    pub registration: String,
    /// Vehicle identification number; empty if unknown.
    #[schema(max_length = 40)]
    pub vin: String,
    /// Size class for prices and times.
    pub size: SizeWord,
    /// Powertrain of the vehicle.
    pub powertrain: PowertrainWord,
}

/// Result of the vehicle's inspection.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteInspection {
    /// Id of the inspection.
    pub id: Reference,
    /// Time of the inspection, RFC 3339 in UTC.
    pub at: Instant,
    /// Condition class that follows from the findings.
    pub condition: ConditionWord,
    /// Reasons for the condition class, each as a sentence.
    #[schema(max_items = 50, value_type = Vec<crate::http::wire::Text<2000>>)]
    pub reasons: Vec<String>,
    /// Odometer reading with its unit, as text; empty if it was not read.
    #[schema(max_length = 40)]
    pub odometer: String,
    /// Damage that cannot be corrected, as it was explained to the customer.
    #[schema(max_length = 4000)]
    pub beyond_repair: String,
    /// Findings of damage and soil, panel by panel.
    #[schema(max_items = 500)]
    pub findings: Vec<QuoteFinding>,
    /// Photographs that belong to no finding.
    #[schema(max_items = 200)]
    pub photos: Vec<QuotePhoto>,
}

/// Finding on a panel.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuoteFinding {
    /// Name of the panel, in the words of the trade.
    #[schema(max_length = 100, example = "front bumper")]
    pub panel: String,
    /// Name of the finding, in the words of the trade.
    #[schema(max_length = 100, example = "deep scratch")]
    pub what: String,
    /// Severity of the finding, in the words of the trade; empty if not stated.
    #[schema(max_length = 100, example = "severe")]
    pub severity: String,
    /// Note about the finding.
    #[schema(max_length = 2000)]
    pub note: String,
    /// Photographs of the finding.
    #[schema(max_items = 50)]
    pub photos: Vec<QuotePhoto>,
}

/// Photograph, identified by its digest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct QuotePhoto {
    /// Id of the photograph.
    pub id: Reference,
    /// SHA-256 of the file, in lower-case hex, so that no other picture can replace it.
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
