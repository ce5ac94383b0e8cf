//! The stored invoice or credit note: the mail shows it, and it is sealed.
//!
//! Amounts are text with their currency and decimal numbers are text, so that canonical JSON represents them exactly.
//! The totals can be computed again from the lines, which issuing does before it seals. Fields of form 2 are left out if
//! there is nothing to say, so that a document of form 1 reads as what it meant.

mod parties;
mod read;
mod sums;

use baywright_domain::document::Prices;
use baywright_domain::invoice::InvoiceKind;
use baywright_domain::money::Rounding;
use baywright_domain::tax::Basis;
use serde::{Deserialize, Serialize};

use crate::platform::kept::{Amount, Day, Number, Word};

pub use parties::{InvoiceBuyer, InvoicePostal, InvoiceSeller};
pub use sums::{InvoiceAllowance, InvoiceTax, InvoiceTotals};

/// Number of the form that this program writes.
pub const FORM: u32 = 2;

/// Invoice as the customer reads it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InvoiceDocument {
    /// Version of this document's format, counted up when fields are added.
    pub form: u32,
    /// Kind of document; documents of form 1, which have none, are invoices.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<Word<InvoiceKind>>,
    /// Invoice number (BT-1); null for a draft.
    pub number: Option<String>,
    /// Issue date (BT-2) in the shop's time zone; null for a draft.
    pub issued_on: Option<Day>,
    /// Due date (BT-9), the last day to pay in time; null for a draft.
    pub due_on: Option<Day>,
    /// Tax point date (BT-7), which decides the tax; null before the supply, before the payment of a deposit, and for
    /// a draft that corrects no earlier invoice.
    pub tax_point: Option<Day>,
    /// Payment reference for the customer's transfer (BT-83, ISO 11649); null for a draft.
    pub payment_reference: Option<String>,
    /// Documents that this one credits or deducts (BG-3); left out if there are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub preceding: Vec<PrecedingDocument>,
    /// Reason for a credit note; left out in other documents.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
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
    /// Charges on the whole invoice; left out if there are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub charges: Vec<InvoiceAllowance>,
    /// Part of the rounding amount that does not follow from the prices, such as the cent that a deducted deposit leaves;
    /// left out if there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub own_rounding: Option<Amount>,
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
    /// Code of the tax in the shop's settings, by which its rate is looked up again; left out if it is not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tax_code: Option<String>,
    /// Tax rate in percent that was agreed, if the rate on the tax point is another one; else left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub agreed_rate: Option<Number>,
    /// Number of the deposit invoice that the line deducts; left out in other lines.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deducts: Option<String>,
}

/// Document that another one credits or deducts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PrecedingDocument {
    /// Its number (BT-25).
    pub number: String,
    /// Date of its issue (BT-26).
    pub issued_on: Day,
}

impl InvoiceDocument {
    /// Kind of document.
    pub fn what(&self) -> InvoiceKind {
        self.kind.map_or(InvoiceKind::Final, |kind| kind.0)
    }
}

#[cfg(test)]
mod tests {
    use baywright_domain::customer::CustomerKind;
    use baywright_domain::money::Currency;
    use serde_json::{Value, json};

    use super::*;

    const SECOND: &str = include_str!("../../../../tests/data/kept/invoice-2.json");
    const CREDIT: &str = include_str!("../../../../tests/data/kept/invoice-2-credit.json");
    const ISSUED: &str = include_str!("../../../../tests/data/kept/invoice-1.json");
    const DRAFT: &str = include_str!("../../../../tests/data/kept/invoice-1-draft.json");

    #[test]
    fn an_invoice_is_read_and_written_as_it_was_and_its_figures_follow_from_its_lines() {
        for (text, form) in [(ISSUED, 1), (DRAFT, 1), (SECOND, FORM), (CREDIT, FORM)] {
            let document = InvoiceDocument::parse(text).unwrap();
            assert_eq!(document.form, form);
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
        assert_eq!((issued.what(), issued.preceding, issued.charges), (InvoiceKind::Final, Vec::new(), Vec::new()));
        let credit = InvoiceDocument::parse(CREDIT).unwrap();
        assert_eq!((credit.what(), credit.preceding[0].number.as_str()), (InvoiceKind::CreditNote, "INV-2026-0043"));
        let second = InvoiceDocument::parse(SECOND).unwrap();
        assert_eq!(second.lines[2].deducts.as_deref(), Some("DEP-2026-0003"));
        assert_eq!(second.lines[0].agreed_rate.map(|rate| rate.0.to_string()).as_deref(), Some("23"));
        assert_eq!(second.seller.postal.unwrap().city.as_deref(), Some("Corrabeg"));
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
