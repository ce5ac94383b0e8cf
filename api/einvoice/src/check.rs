//! Whether a document says all that an electronic invoice must say. Names such as BR-06 are those of the rules in EN 16931-1
//! and, with a letter R, of Peppol BIS Billing 3.0.

use baywright_domain::document::{CategoryTotal, Totals};
use baywright_domain::invoice::InvoiceKind;
use baywright_domain::money::{Currency, Rounding};
use baywright_domain::refusal::{Fault, Refusal};
use baywright_domain::tax::{Category, tax_on};
use rust_decimal::Decimal;

use crate::figures::{Figures, figures};
use crate::issued::{Endpoint, Issued, Party, said};
use crate::refused::NotElectronic;

/// Letters that are a scheme of electronic addresses; every other scheme has four digits.
const LETTER_SCHEMES: [&str; 5] = ["AN", "AQ", "AS", "AU", "EM"];

/// The most decimals of an amount (BR-DEC-01 and those after it).
const MOST_DECIMALS: u32 = 2;

/// A document that can be written, with its figures.
#[derive(Debug, Clone)]
pub struct Checked<'a> {
    pub(crate) issued: &'a Issued,
    pub(crate) totals: Totals,
    /// Figures of the lines, in order.
    pub(crate) figures: Vec<Figures>,
}

impl<'a> Checked<'a> {
    /// Sums the document up and checks it.
    ///
    /// # Errors
    /// [`NotElectronic`] with every reason.
    pub fn new(issued: &'a Issued) -> Result<Self, NotElectronic> {
        let totals = issued.document.totals().map_err(|bad| NotElectronic { faults: in_document(&bad) })?;
        let mut faults = Faults::default();
        faults.head(issued);
        faults.money(issued, &totals);
        faults.tax(issued, &totals);
        faults.seller(issued);
        faults.buyer(&issued.buyer);
        faults.lines(issued);
        if issued.is_for_peppol() {
            faults.peppol(issued);
        }
        if !faults.found.is_empty() {
            return Err(NotElectronic { faults: faults.found });
        }
        let lines = issued.document.lines.iter().zip(&totals.lines);
        let figures = lines.map(|(line, total)| figures(&issued.document, line, total)).collect();
        Ok(Self { issued, totals, figures })
    }

    /// What the document comes to.
    pub fn totals(&self) -> &Totals {
        &self.totals
    }

    /// The currency's code.
    pub(crate) fn currency(&self) -> Currency {
        self.issued.document.currency
    }

    /// The reason why the items of a row of taxes are without tax.
    pub(crate) fn exemption(&self, row: &CategoryTotal) -> Option<&str> {
        self.issued.exemption(row.treatment.category())
    }
}

impl Issued {
    /// Whether the file is for the Peppol network: the buyer has an address there.
    pub(crate) fn is_for_peppol(&self) -> bool {
        self.buyer.endpoint.is_some()
    }

    /// Whether the VAT numbers are stated: a document outside the scope of VAT must not name any (BR-O-02 to BR-O-04).
    pub(crate) fn names_vat_ids(&self) -> bool {
        self.document.lines.iter().any(|line| line.treatment.category() != Category::OutOfScope)
    }

    fn exemption(&self, category: Category) -> Option<&str> {
        let mut reasons = self.exemptions.iter().filter(|reason| reason.category == category);
        reasons.find_map(|reason| said(Some(&reason.text)))
    }
}

/// Code of the reason why no tax is charged (code list VATEX), if the category alone decides it.
pub(crate) const fn exemption_code(category: Category) -> Option<&'static str> {
    match category {
        Category::ReverseCharge => Some("VATEX-EU-AE"),
        Category::OutOfScope => Some("VATEX-EU-O"),
        Category::Export => Some("VATEX-EU-G"),
        _ => None,
    }
}

/// Faults of the document's own figures, with pointers from the whole.
fn in_document(bad: &impl Refusal) -> Vec<Fault> {
    let faults = bad.faults().into_iter();
    faults.map(|fault| Fault { pointer: format!("/document{}", fault.pointer), ..fault }).collect()
}

/// Reasons that were found.
#[derive(Default)]
struct Faults {
    found: Vec<Fault>,
}

impl Faults {
    fn add(&mut self, pointer: impl Into<String>, code: &'static str, detail: impl Into<String>) {
        self.found.push(Fault { pointer: pointer.into(), code, detail: detail.into() });
    }

    fn head(&mut self, issued: &Issued) {
        if issued.number.trim().is_empty() {
            self.add("/number", "no-number", "the document needs a number (BR-02)");
        }
        if issued.kind == InvoiceKind::CreditNote && issued.preceding.is_empty() {
            self.add("/preceding", "credits-nothing", "a credit note names the invoice that it credits");
        }
        for (at, preceding) in issued.preceding.iter().enumerate() {
            if preceding.number.trim().is_empty() {
                let detail = "a document that is referred to needs its number (BR-55)";
                self.add(format!("/preceding/{at}/number"), "no-number", detail);
            }
        }
    }

    fn money(&mut self, issued: &Issued, totals: &Totals) {
        let currency = issued.document.currency;
        if currency.decimals() > MOST_DECIMALS {
            let code = currency.code();
            let detail = format!("amounts have two decimals at most, and those in {code} have more (BR-DEC-12)");
            self.add("/document/currency", "currency-decimals", detail);
        }
        let says_when = said(issued.terms.as_ref()).is_some();
        let has_day = issued.due_on.is_some() && issued.kind != InvoiceKind::CreditNote;
        if totals.payable.minor() > 0 && !says_when && !has_day {
            let detail = "say until when to pay: a due date, or for a credit note its terms in words (BR-CO-25)";
            self.add("/terms", "no-terms", detail);
        }
    }

    fn tax(&mut self, issued: &Issued, totals: &Totals) {
        for row in &totals.taxes {
            let category = row.treatment.category();
            if category == Category::IntraCommunity {
                let detail = "a supply of goods to another member state (category K) needs facts about a delivery, which a \
                              studio doesn't have: choose another tax for the lines";
                self.add("/document/lines", "category-refused", detail);
            }
            if category == Category::OutOfScope && totals.taxes.len() > 1 {
                let detail = "lines outside the scope of VAT (category O) need a document of their own (BR-O-11)";
                self.add("/document/lines", "out-of-scope-mixed", detail);
            }
            if category.needs_reason() && exemption_code(category).is_none() && issued.exemption(category).is_none() {
                let detail = format!("say why no tax is charged on the lines of category {category} (BR-E-10)");
                self.add("/exemptions", "no-exemption-reason", detail);
            }
            if !is_tax_of(row, issued.document.currency) {
                let detail = format!(
                    "tax computed line by line is too far from the tax on the whole of category {category}, which electronic \
                     invoices state (BR-CO-17): split the document"
                );
                self.add("/document/profile", "tax-per-line", detail);
            }
        }
    }

    fn seller(&mut self, issued: &Issued) {
        let seller = &issued.seller;
        self.party("seller", seller, ["BR-06", "BR-09"]);
        let is_known = issued.names_vat_ids() && seller.vat_id.is_some();
        if !is_known && said(seller.company_number.as_ref()).is_none() {
            let detail = "enter the studio's VAT number or its company number (BR-CO-26)";
            self.add("/seller/company_number", "seller-unknown", detail);
        }
        for line in &issued.document.lines {
            let category = line.treatment.category();
            let (wants_vat_id, wants_number) = match category {
                Category::OutOfScope => (false, false),
                Category::ReverseCharge | Category::Export | Category::IntraCommunity => (true, false),
                _ => (false, true),
            };
            let has_number = seller.vat_id.is_some() || said(seller.tax_number.as_ref()).is_some();
            if (wants_vat_id && seller.vat_id.is_none()) || (wants_number && !has_number) {
                let detail =
                    format!("lines of category {category} need the studio's VAT number or tax number (BR-S-02)");
                self.add("/seller/vat_id", "no-seller-vat-id", detail);
                break;
            }
        }
        let reverse = issued.document.lines.iter().any(|line| line.treatment.category() == Category::ReverseCharge);
        if reverse && issued.buyer.vat_id.is_none() {
            let detail = "reverse charge needs the customer's VAT number (BR-AE-02)";
            self.add("/buyer/vat_id", "no-buyer-vat-id", detail);
        }
    }

    fn buyer(&mut self, buyer: &Party) {
        self.party("buyer", buyer, ["BR-07", "BR-11"]);
    }

    fn party(&mut self, who: &str, party: &Party, rules: [&str; 2]) {
        let [name, country] = rules;
        if party.name.trim().is_empty() {
            self.add(format!("/{who}/name"), "no-name", format!("enter the name of the {who} ({name})"));
        }
        if party.address.country.is_none() {
            let detail = format!("enter the country of the {who}'s address ({country})");
            self.add(format!("/{who}/address/country"), "no-country", detail);
        }
        if let Some(endpoint) = &party.endpoint {
            self.endpoint(who, endpoint);
        }
    }

    fn endpoint(&mut self, who: &str, endpoint: &Endpoint) {
        let scheme = endpoint.scheme.as_str();
        let is_digits = scheme.len() == 4 && scheme.bytes().all(|b| b.is_ascii_digit());
        if !is_digits && !LETTER_SCHEMES.contains(&scheme) {
            let detail =
                format!("the scheme of the {who}'s electronic address has four digits, such as 9930 (BR-CL-25)");
            self.add(format!("/{who}/endpoint/scheme"), "endpoint-scheme", detail);
        }
        if endpoint.id.trim().is_empty() {
            let detail = format!("enter the electronic address of the {who} (BR-62, BR-63)");
            self.add(format!("/{who}/endpoint/id"), "no-endpoint", detail);
        }
    }

    fn lines(&mut self, issued: &Issued) {
        if issued.lines.len() != issued.document.lines.len() {
            self.add("/lines", "line-texts", "each line needs its texts");
        }
        for (at, line) in issued.lines.iter().enumerate() {
            if line.name.trim().is_empty() {
                self.add(format!("/lines/{at}/name"), "no-name", "each line needs a name (BR-25)");
            }
        }
    }

    /// What the Peppol network asks for beyond EN 16931.
    fn peppol(&mut self, issued: &Issued) {
        if issued.seller.endpoint.is_none() {
            let detail = "the buyer takes invoices by Peppol: enter the studio's own electronic address (R020)";
            self.add("/seller/endpoint", "no-endpoint", detail);
        }
        if said(issued.buyer_reference.as_ref()).is_none() && said(issued.purchase_order.as_ref()).is_none() {
            let detail = "the buyer takes invoices by Peppol: enter their reference or purchase-order number (R003)";
            self.add("/buyer_reference", "no-reference", detail);
        }
    }
}

/// Whether receivers take the tax of a category: their check allows a difference of less than one major unit from the tax on
/// the whole of it. Tax that is computed for each line, or rounded as a country wants it, differs by less unless a document
/// is very long.
fn is_tax_of(row: &CategoryTotal, currency: Currency) -> bool {
    let whole = tax_on(row.taxable, row.treatment.rate(), Rounding::HalfAwayFromZero);
    whole.is_ok_and(|whole| (whole - row.tax).abs().major(currency) < Decimal::ONE)
}
