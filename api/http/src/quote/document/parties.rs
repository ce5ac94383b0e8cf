//! Studio, customer, vehicle and findings of an offer.

use baywright_core::quote::kept;
use serde::Serialize;
use utoipa::ToSchema;

use super::super::words::{ConditionWord, CustomerKindWord, PowertrainWord, SizeWord};
use super::list;
use crate::platform::wire::{Instant, Reference};

/// Studio that makes the offer.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteStudio)]
pub struct QuoteStudioView {
    /// Trading name of the studio.
    #[schema(max_length = 200)]
    name: String,
    /// Legal name of the studio; empty if not set.
    #[schema(max_length = 200)]
    legal_name: String,
    /// Address of the studio, line by line.
    #[schema(max_items = 8, value_type = Vec<crate::platform::wire::Line<200>>)]
    address: Vec<String>,
    /// Email address of the studio; empty if not set.
    #[schema(max_length = 254)]
    email: String,
    /// Telephone number of the studio; empty if not set.
    #[schema(max_length = 60)]
    phone: String,
    /// VAT number of the studio; empty if there is none.
    #[schema(max_length = 40)]
    vat_id: String,
    /// IANA name of the time zone in which days and times are shown.
    #[schema(max_length = 60, example = "Europe/Dublin")]
    zone: String,
    /// Currency of all amounts, ISO 4217.
    #[schema(min_length = 3, max_length = 3, example = "EUR")]
    currency: String,
}

/// Customer to whom the offer is made.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteCustomer)]
pub struct QuoteCustomerView {
    /// Id of the customer.
    id: Reference,
    /// Full name of a person, or name of a firm.
    #[schema(max_length = 200)]
    name: String,
    /// Kind of customer: `PRIVATE` or `TRADE`.
    kind: CustomerKindWord,
    /// Email address that the quote is sent to; null if unknown.
    #[schema(max_length = 254)]
    email: Option<String>,
    /// Address of the customer, line by line; empty if unknown.
    #[schema(max_items = 8, value_type = Vec<crate::platform::wire::Line<200>>)]
    address: Vec<String>,
}

/// Vehicle that the work is for.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteVehicle)]
pub struct QuoteVehicleView {
    /// Id of the vehicle.
    id: Reference,
    /// Name of the vehicle: make, model and colour, as far as known.
    #[schema(max_length = 300, example = "Estate car, dark blue")]
    name: String,
    /// Registration of the vehicle; empty if it has none.
    #[schema(max_length = 40)]
    registration: String,
    /// Vehicle identification number; empty if unknown.
    #[schema(max_length = 40)]
    vin: String,
    /// Size class for prices and times.
    size: SizeWord,
    /// Powertrain of the vehicle.
    powertrain: PowertrainWord,
}

/// Result of the vehicle's inspection.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteInspection)]
pub struct QuoteInspectionView {
    /// Id of the inspection.
    id: Reference,
    /// Time of the inspection, RFC 3339 in UTC.
    at: Instant,
    /// Condition class that follows from the findings.
    condition: ConditionWord,
    /// Reasons for the condition class, each as a sentence.
    #[schema(max_items = 50, value_type = Vec<crate::platform::wire::Text<2000>>)]
    reasons: Vec<String>,
    /// Odometer reading with its unit, as text; empty if it was not read.
    #[schema(max_length = 40)]
    odometer: String,
    /// Damage that cannot be corrected, as it was explained to the customer.
    #[schema(max_length = 4000)]
    beyond_repair: String,
    /// Findings of damage and soil, panel by panel.
    #[schema(max_items = 500)]
    findings: Vec<QuoteFindingView>,
    /// Photographs that belong to no finding.
    #[schema(max_items = 200)]
    photos: Vec<QuotePhotoView>,
}

/// Finding on a panel.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuoteFinding)]
pub struct QuoteFindingView {
    /// Name of the panel, as detailers call it.
    #[schema(max_length = 100, example = "front bumper")]
    panel: String,
    /// Name of the finding, as detailers call it.
    #[schema(max_length = 100, example = "deep scratch")]
    what: String,
    /// Severity of the finding, in words; empty if not stated.
    #[schema(max_length = 100, example = "severe")]
    severity: String,
    /// Note about the finding.
    #[schema(max_length = 2000)]
    note: String,
    /// Photographs of the finding.
    #[schema(max_items = 50)]
    photos: Vec<QuotePhotoView>,
}

/// Photograph, identified by its digest.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = QuotePhoto)]
pub struct QuotePhotoView {
    /// Id of the photograph.
    id: Reference,
    /// SHA-256 of the file, in lower-case hex, so that no other picture can replace it.
    #[schema(
        min_length = 64,
        max_length = 64,
        example = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    )]
    sha256: String,
}

impl From<kept::QuoteStudio> for QuoteStudioView {
    fn from(kept: kept::QuoteStudio) -> Self {
        Self {
            name: kept.name,
            legal_name: kept.legal_name,
            address: kept.address,
            email: kept.email,
            phone: kept.phone,
            vat_id: kept.vat_id,
            zone: kept.zone,
            currency: kept.currency,
        }
    }
}

impl From<kept::QuoteCustomer> for QuoteCustomerView {
    fn from(kept: kept::QuoteCustomer) -> Self {
        Self {
            id: Reference::from(&kept.id),
            name: kept.name,
            kind: kept.kind.into(),
            email: kept.email,
            address: kept.address,
        }
    }
}

impl From<kept::QuoteVehicle> for QuoteVehicleView {
    fn from(kept: kept::QuoteVehicle) -> Self {
        Self {
            id: Reference::from(&kept.id),
            name: kept.name,
            registration: kept.registration,
            vin: kept.vin,
            size: kept.size.into(),
            powertrain: kept.powertrain.into(),
        }
    }
}

impl From<kept::QuoteInspection> for QuoteInspectionView {
    fn from(kept: kept::QuoteInspection) -> Self {
        Self {
            id: Reference::from(&kept.id),
            at: kept.at.into(),
            condition: kept.condition.into(),
            reasons: kept.reasons,
            odometer: kept.odometer,
            beyond_repair: kept.beyond_repair,
            findings: list(kept.findings),
            photos: list(kept.photos),
        }
    }
}

impl From<kept::QuoteFinding> for QuoteFindingView {
    fn from(kept: kept::QuoteFinding) -> Self {
        Self { panel: kept.panel, what: kept.what, severity: kept.severity, note: kept.note, photos: list(kept.photos) }
    }
}

impl From<kept::QuotePhoto> for QuotePhotoView {
    fn from(kept: kept::QuotePhoto) -> Self {
        Self { id: Reference::from(&kept.id), sha256: kept.sha256 }
    }
}
