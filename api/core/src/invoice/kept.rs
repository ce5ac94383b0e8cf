//! The stored invoice: the mail shows it, and it is sealed.
//!
//! Amounts are text with their currency and decimal numbers are text, so that canonical JSON represents them exactly.
//! The totals can be computed again from the lines, which issuing does before it seals.

mod parties;
mod read;
mod sums;

use baywright_domain::document::Prices;
use baywright_domain::money::Rounding;
use baywright_domain::tax::Basis;
use serde::{Deserialize, Serialize};

use crate::platform::kept::{Amount, Day, Number, Word};

pub use parties::{InvoiceBuyer, InvoiceSeller};
pub use sums::{InvoiceAllowance, InvoiceTax, InvoiceTotals};

/// Number of the form that this program writes.
pub const FORM: u32 = 1;

/// Invoice as the customer reads it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceDocument {
    /// Version of this document's format, counted up when fields are added.
    pub form: u32,
    /// Invoice number (BT-1); null for a draft.
    pub number: Option<String>,
    /// Issue date (BT-2) in the shop's time zone; null for a draft.
    pub issued_on: Option<Day>,
    /// Due date (BT-9), the last day to pay in time; null for a draft.
    pub due_on: Option<Day>,
    /// Tax point date (BT-7), which decides the tax; null for a draft.
    pub tax_point: Option<Day>,
    /// Payment reference for the customer's transfer (BT-83, ISO 11649); null for a draft.
    pub payment_reference: Option<String>,
    /// Studio that issues the invoice.
    pub seller: InvoiceSeller,
    /// Customer who buys.
    pub buyer: InvoiceBuyer,
    /// Number of the signed quote; null if there is none.
    pub quote_number: Option<String>,
    /// Description of the vehicle as in the quote; null if there is none.
    pub vehicle: Option<String>,
    /// Purchase-order number of the buyer (BT-13); null if there is none.
    pub purchase_order: Option<String>,
    /// Whether the prices are with tax (`GROSS`) or before tax (`NET`).
    pub prices: Word<Prices>,
    /// Basis for computing tax: each category as a whole or each line.
    pub tax_basis: Word<Basis>,
    /// Rounding of tax amounts to the smallest coin.
    pub tax_rounding: Word<Rounding>,
    /// Lines that are charged, in order.
    pub lines: Vec<InvoiceLine>,
    /// Discounts on the whole invoice.
    pub allowances: Vec<InvoiceAllowance>,
    /// Totals of the invoice.
    pub totals: InvoiceTotals,
    /// Note of the studio in its own words.
    pub note: String,
}

/// Line of an invoice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceLine {
    /// Name of the service or item (BT-153).
    pub name: String,
    /// Number of the quote or variation in which the line was agreed.
    pub origin: String,
    /// Quantity of the line (BT-129).
    pub quantity: Number,
    /// Price of one unit, in the currency's major unit, with or before tax as `prices` says.
    pub unit_price: Number,
    /// Discount on the line, with or before tax as `prices` says.
    pub discount: Amount,
    /// Reason for the discount; null if there is none.
    pub discount_reason: Option<String>,
    /// Amount of the line: quantity × price − discount, with or before tax as `prices` says.
    pub amount: Amount,
    /// Amount of the line before tax (BT-131).
    pub net: Amount,
    /// Tax category code of UNTDID 5305 (BT-151).
    pub tax_category: String,
    /// Tax rate in percent (BT-152).
    pub tax_rate: Number,
    /// Reason for charging no tax, if the category needs one (BT-120); else null.
    pub tax_reason: Option<String>,
}

#[cfg(test)]
mod tests {
    use baywright_domain::customer::CustomerKind;
    use baywright_domain::money::Currency;
    use serde_json::{Value, json};

    use super::*;

    const ISSUED: &str = include_str!("../../../../tests/data/kept/invoice-1.json");
    const DRAFT: &str = include_str!("../../../../tests/data/kept/invoice-1-draft.json");

    #[test]
    fn an_invoice_is_read_and_written_as_it_was_and_its_figures_follow_from_its_lines() {
        for text in [ISSUED, DRAFT] {
            let document = InvoiceDocument::parse(text).unwrap();
            assert_eq!(document.form, FORM);
            assert_eq!(serde_json::to_value(&document).unwrap(), serde_json::from_str::<Value>(text).unwrap());
            let totals = document.rules(Currency::EUR).unwrap().totals().unwrap();
            assert_eq!(InvoiceTotals::of(&totals, Currency::EUR), document.totals);
        }
        let issued = InvoiceDocument::parse(ISSUED).unwrap();
        assert_eq!(issued.number.as_deref(), Some("INV-2026-0042"));
        assert_eq!(issued.due_on.map(|day| day.0.to_string()).as_deref(), Some("2026-04-11"));
        assert_eq!((issued.prices.0, issued.buyer.kind.0), (Prices::Net, CustomerKind::Trade));
        assert_eq!(issued.lines[1].unit_price.0.to_string(), "45.5");
        assert_eq!(issued.totals.payable.to_string(), "EUR 667.84");
        let draft = InvoiceDocument::parse(DRAFT).unwrap();
        assert_eq!((draft.number, draft.issued_on, draft.prices.0), (None, None, Prices::Gross));
    }

    #[test]
    fn what_no_rule_of_today_would_take_is_read() {
        let mut value: Value = serde_json::from_str(ISSUED).unwrap();
        value["later"] = json!("a field of a later form");
        value["note"] = json!("\u{7}".repeat(3_000));
        value["buyer"]["id"] = json!("not a UUID");
        value["lines"][0]["unit_price"] = json!("1234567890.12345678");
        let read = InvoiceDocument::parse(&value.to_string()).unwrap();
        assert_eq!((read.note.len(), read.buyer.id.as_str()), (3_000, "not a UUID"));
    }
}
