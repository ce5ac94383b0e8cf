//! What an electronic invoice is made from. Numbers such as BT-1 are those of the terms in EN 16931-1.

use baywright_domain::country::Country;
use baywright_domain::document::Document;
use baywright_domain::invoice::InvoiceKind;
use baywright_domain::payment::Iban;
use baywright_domain::tax::Category;
use baywright_domain::vat_id::VatId;
use chrono::NaiveDate;

/// A document with all that its electronic form says. Blank texts count as missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Issued {
    /// Invoice, deposit invoice or credit note (BT-3).
    pub kind: InvoiceKind,
    /// Its number (BT-1). A document that is only checked before it is issued can carry the number that it would get.
    pub number: String,
    /// Issue date (BT-2).
    pub issued_on: NaiveDate,
    /// Last day to pay in time (BT-9). A credit note has none in UBL: what it says about paying stands in `terms`.
    pub due_on: Option<NaiveDate>,
    /// Date that decides the tax, if it is another one than the issue date (BT-7).
    pub tax_point: Option<NaiveDate>,
    /// Date of supply, such as the hand-over of the car (BT-72).
    pub supplied_on: Option<NaiveDate>,
    /// Lines, discounts and charges, from which all amounts are computed; amounts of a credit note are above zero.
    pub document: Document,
    /// Texts of the lines, in the order of the document's lines.
    pub lines: Vec<LineText>,
    /// Reasons why no tax is charged, for the categories that need one (BT-120).
    pub exemptions: Vec<ExemptionReason>,
    /// The studio.
    pub seller: Party,
    /// The customer.
    pub buyer: Party,
    /// Reference that the buyer asked for, by which its program finds who ordered (BT-10).
    pub buyer_reference: Option<String>,
    /// Purchase-order number of the buyer (BT-13).
    pub purchase_order: Option<String>,
    /// Invoices that this document credits, or deposits that it deducts (BG-3).
    pub preceding: Vec<Preceding>,
    /// Account to pay to (BT-84); `None` if no transfer is asked for. A credit note has none.
    pub account: Option<Iban>,
    /// Reference for the transfer (BT-83).
    pub payment_reference: Option<String>,
    /// Terms of payment in words (BT-20).
    pub terms: Option<String>,
    /// Note of the studio (BT-22).
    pub note: Option<String>,
}

/// Texts of a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LineText {
    /// Name of the service or goods (BT-153).
    pub name: String,
    /// Further text, such as the number of the quote in which the line was agreed (BT-127).
    pub note: Option<String>,
}

/// Reason why the items of a category are without tax.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExemptionReason {
    /// The category.
    pub category: Category,
    /// The reason, as the customer reads it.
    pub text: String,
}

/// Seller or buyer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Party {
    /// Legal name (BT-27, BT-44).
    pub name: String,
    /// Name by which it trades, if it is another one (BT-28, BT-45).
    pub trading_name: Option<String>,
    /// Postal address (BG-5, BG-8).
    pub address: Address,
    /// VAT number (BT-31, BT-48).
    pub vat_id: Option<VatId>,
    /// Number of the seller at its tax office, for one without a VAT number (BT-32); the buyer has none here.
    pub tax_number: Option<String>,
    /// Number in the register of companies (BT-30, BT-47).
    pub company_number: Option<String>,
    /// Electronic address (BT-34, BT-49).
    pub endpoint: Option<Endpoint>,
    /// Person or desk to ask (BG-6, BG-9).
    pub contact: Contact,
}

/// A postal address. Only the country is mandatory.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Address {
    /// Street and further lines; the fourth and later ones are joined to the third, since the standard has three (BT-35,
    /// BT-36, BT-162).
    pub lines: Vec<String>,
    /// Town (BT-37).
    pub town: Option<String>,
    /// Postcode (BT-38).
    pub postcode: Option<String>,
    /// Region (BT-39).
    pub region: Option<String>,
    /// Country (BT-40).
    pub country: Option<Country>,
}

/// Address in a network for electronic invoices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Endpoint {
    /// Scheme of the address, by the code list EAS: four digits, or two letters such as `EM` for an email address.
    pub scheme: String,
    /// The address.
    pub id: String,
}

/// Person or desk to ask about a document.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Contact {
    /// Name (BT-41).
    pub name: Option<String>,
    /// Telephone number (BT-42).
    pub phone: Option<String>,
    /// Email address (BT-43).
    pub email: Option<String>,
}

/// A document that was issued before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preceding {
    /// Its number (BT-25).
    pub number: String,
    /// Its issue date, if known (BT-26).
    pub issued_on: Option<NaiveDate>,
}

impl Address {
    /// Its lines without blank ones, at most three.
    pub(crate) fn three_lines(&self) -> [Option<String>; 3] {
        let mut lines = self.lines.iter().map(|line| line.trim()).filter(|line| !line.is_empty());
        let (first, second) = (lines.next().map(str::to_owned), lines.next().map(str::to_owned));
        let rest: Vec<&str> = lines.collect();
        [first, second, (!rest.is_empty()).then(|| rest.join(", "))]
    }
}

/// The text without blanks around it, unless nothing is left.
pub(crate) fn said(text: Option<&String>) -> Option<&str> {
    text.map(|text| text.trim()).filter(|text| !text.is_empty())
}
