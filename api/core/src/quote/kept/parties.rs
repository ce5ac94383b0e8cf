//! Studio, customer, vehicle and findings of an offer.

use baywright_domain::customer::CustomerKind;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::vehicle::{Powertrain, SizeClass};
use serde::{Deserialize, Serialize};

use crate::platform::kept::{Moment, Word};

/// Studio that makes the offer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteStudio {
    /// Trading name of the studio.
    pub name: String,
    /// Legal name of the studio; empty if not set.
    pub legal_name: String,
    /// Address of the studio, line by line.
    pub address: Vec<String>,
    /// Email address of the studio; empty if not set.
    pub email: String,
    /// Telephone number of the studio; empty if not set.
    pub phone: String,
    /// VAT number of the studio; empty if there is none.
    pub vat_id: String,
    /// IANA name of the time zone in which days and times are shown.
    pub zone: String,
    /// Currency of all amounts, ISO 4217.
    pub currency: String,
}

/// Customer to whom the offer is made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteCustomer {
    /// Id of the customer.
    pub id: String,
    /// Full name of a person, or name of a firm.
    pub name: String,
    /// Kind of customer: `PRIVATE` or `TRADE`.
    pub kind: Word<CustomerKind>,
    /// Email address that the quote is sent to; null if unknown.
    pub email: Option<String>,
    /// Address of the customer, line by line; empty if unknown.
    pub address: Vec<String>,
}

/// Vehicle that the work is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteVehicle {
    /// Id of the vehicle.
    pub id: String,
    /// Name of the vehicle: make, model and colour, as far as known.
    pub name: String,
    /// Registration of the vehicle; empty if it has none.
    pub registration: String,
    /// Vehicle identification number; empty if unknown.
    pub vin: String,
    /// Size class for prices and times.
    pub size: Word<SizeClass>,
    /// Powertrain of the vehicle.
    pub powertrain: Word<Powertrain>,
}

/// Result of the vehicle's inspection.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteInspection {
    /// Id of the inspection.
    pub id: String,
    /// Time of the inspection, RFC 3339 in UTC.
    pub at: Moment,
    /// Condition class that follows from the findings.
    pub condition: Word<ConditionClass>,
    /// Reasons for the condition class, each as a sentence.
    pub reasons: Vec<String>,
    /// Odometer reading with its unit, as text; empty if it was not read.
    pub odometer: String,
    /// Damage that cannot be corrected, as it was explained to the customer.
    pub beyond_repair: String,
    /// Findings of damage and soil, panel by panel.
    pub findings: Vec<QuoteFinding>,
    /// Photographs that belong to no finding.
    pub photos: Vec<QuotePhoto>,
}

/// Finding on a panel.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuoteFinding {
    /// Name of the panel, as detailers call it.
    pub panel: String,
    /// Name of the finding, as detailers call it.
    pub what: String,
    /// Severity of the finding, in words; empty if not stated.
    pub severity: String,
    /// Note about the finding.
    pub note: String,
    /// Photographs of the finding.
    pub photos: Vec<QuotePhoto>,
}

/// Photograph, identified by its digest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct QuotePhoto {
    /// Id of the photograph.
    pub id: String,
    /// SHA-256 of the file, in lower-case hex, so that no other picture can replace it.
    pub sha256: String,
}

impl QuoteInspection {
    /// Every photograph, including those of findings.
    pub fn all_photos(&self) -> impl Iterator<Item = &QuotePhoto> {
        self.findings.iter().flat_map(|finding| &finding.photos).chain(&self.photos)
    }
}
