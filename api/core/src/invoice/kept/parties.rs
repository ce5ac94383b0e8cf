//! Seller and buyer, frozen with the invoice.

use baywright_domain::customer::CustomerKind;
use serde::{Deserialize, Serialize};

use super::InvoiceDocument;
use crate::platform::kept::Word;

/// Studio that issues the invoice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceSeller {
    /// Trading name of the studio (BT-28).
    pub name: String,
    /// Legal name of the studio (BT-27).
    pub legal_name: String,
    /// Address of the studio, line by line.
    pub address: Vec<String>,
    /// Country code, ISO 3166-1; null if not set.
    pub country: Option<String>,
    /// Email address of the studio; null if not set.
    pub email: Option<String>,
    /// Telephone number of the studio; null if not set.
    pub phone: Option<String>,
    /// VAT number of the studio (BT-31); null if there is none.
    pub vat_id: Option<String>,
    /// Company registration number of the studio (BT-30); null if there is none.
    pub company_number: Option<String>,
    /// IBAN of the account to pay to (BT-84); null if not set.
    pub iban: Option<String>,
}

/// Customer who buys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceBuyer {
    /// Id of the customer.
    pub id: String,
    /// Kind of customer: `PRIVATE` or `TRADE`.
    pub kind: Word<CustomerKind>,
    /// Full name of a person, or name of a firm (BT-44).
    pub name: String,
    /// Address of the customer, line by line; empty if unknown.
    pub address: Vec<String>,
    /// Country code, ISO 3166-1; null if unknown.
    pub country: Option<String>,
    /// Email address that the invoice is sent to; null if unknown.
    pub email: Option<String>,
    /// VAT number of the customer (BT-48); null if there is none.
    pub vat_id: Option<String>,
}

impl InvoiceDocument {
    /// The document of a draft whose buyer was erased; `name` replaces the buyer's name.
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
