//! Who sells and who buys, frozen with the invoice.

use baywright_domain::customer::CustomerKind;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::InvoiceDocument;
use crate::platform::wire::{Reference, Word};

/// A kind of customer as it travels.
pub type BuyerKindWord = Word<CustomerKind>;

/// The studio that sells.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct InvoiceSeller {
    /// Its trading name (BT-28).
    #[schema(max_length = 200)]
    pub name: String,
    /// Its name in law (BT-27).
    #[schema(max_length = 200)]
    pub legal_name: String,
    /// Its address, line by line.
    #[schema(max_items = 8, value_type = Vec<crate::platform::wire::Line<200>>)]
    pub address: Vec<String>,
    /// Its country (ISO 3166-1); null where it is not set.
    #[schema(max_length = 2, example = "IE")]
    pub country: Option<String>,
    /// Its mail address.
    #[schema(max_length = 254)]
    pub email: Option<String>,
    /// Its telephone number.
    #[schema(max_length = 60)]
    pub phone: Option<String>,
    /// Its VAT identification number (BT-31).
    #[schema(max_length = 40)]
    pub vat_id: Option<String>,
    /// Its number in the register of companies (BT-30).
    #[schema(max_length = 60)]
    pub company_number: Option<String>,
    /// The account to pay to (BT-84).
    #[schema(max_length = 34)]
    pub iban: Option<String>,
}

/// The customer who buys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct InvoiceBuyer {
    /// The customer's record.
    pub id: Reference,
    /// Private or trade.
    pub kind: BuyerKindWord,
    /// Full name, or the firm's name (BT-44).
    #[schema(max_length = 200)]
    pub name: String,
    /// Address, line by line; empty where it is not known.
    #[schema(max_items = 8, value_type = Vec<crate::platform::wire::Line<200>>)]
    pub address: Vec<String>,
    /// Country (ISO 3166-1); null where it is not known.
    #[schema(max_length = 2, example = "IE")]
    pub country: Option<String>,
    /// The address that the invoice is mailed to.
    #[schema(max_length = 254)]
    pub email: Option<String>,
    /// VAT identification number (BT-48).
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
