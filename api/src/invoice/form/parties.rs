//! Who sells and who buys, frozen with the invoice.

use baywright_domain::customer::CustomerKind;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::InvoiceDocument;
use crate::platform::wire::{Reference, Word};

/// A kind of customer as it travels.
pub type BuyerKindWord = Word<CustomerKind>;

/// Studio that issues the invoice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct InvoiceSeller {
    /// Trading name of the studio (BT-28).
    #[schema(max_length = 200)]
    pub name: String,
    /// Legal name of the studio (BT-27).
    #[schema(max_length = 200)]
    pub legal_name: String,
    /// Address of the studio, line by line.
    #[schema(max_items = 8, value_type = Vec<crate::platform::wire::Line<200>>)]
    pub address: Vec<String>,
    /// Country code, ISO 3166-1; null if not set.
    #[schema(max_length = 2, example = "IE")]
    pub country: Option<String>,
    /// Mail address of the studio; null if not set.
    #[schema(max_length = 254)]
    pub email: Option<String>,
    /// Telephone number of the studio; null if not set.
    #[schema(max_length = 60)]
    pub phone: Option<String>,
    /// VAT number of the studio (BT-31); null if there is none.
    #[schema(max_length = 40)]
    pub vat_id: Option<String>,
    /// Company registration number of the studio (BT-30); null if there is none.
    #[schema(max_length = 60)]
    pub company_number: Option<String>,
    /// IBAN of the account to pay to (BT-84); null if not set.
    #[schema(max_length = 34)]
    pub iban: Option<String>,
}

/// Customer who buys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct InvoiceBuyer {
    /// Id of the customer.
    pub id: Reference,
    /// Kind of customer: `PRIVATE` or `TRADE`.
    pub kind: BuyerKindWord,
    /// Full name of a person, or name of a firm (BT-44).
    #[schema(max_length = 200)]
    pub name: String,
    /// Address of the customer, line by line; empty if unknown.
    #[schema(max_items = 8, value_type = Vec<crate::platform::wire::Line<200>>)]
    pub address: Vec<String>,
    /// Country code, ISO 3166-1; null if unknown.
    #[schema(max_length = 2, example = "IE")]
    pub country: Option<String>,
    /// Mail address that the invoice is sent to; null if unknown.
    #[schema(max_length = 254)]
    pub email: Option<String>,
    /// VAT number of the customer (BT-48); null if there is none.
    #[schema(max_length = 40)]
    pub vat_id: Option<String>,
}

impl InvoiceDocument {
    /// The document of a draft whose buyer was erased, under that name.
    #[must_use]
    pub fn without_buyer(mut self, name: &str) -> Self {
        let (id, kind) = (self.buyer.id, self.buyer.kind);
        let name = name.to_owned();
        self.buyer = InvoiceBuyer { id, kind, name, address: Vec::new(), country: None, email: None, vat_id: None };
        self.vehicle = None;
        self.purchase_order = None;
        self.note.clear();
        for line in &mut self.lines {
            line.discount_reason = line.discount_reason.as_ref().map(|_| String::new());
        }
        self
    }
}
