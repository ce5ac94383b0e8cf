//! A document in UBL 2.1 (ISO/IEC 19845), by the binding of EN 16931-3-2. Elements stand in the order of its schema, which
//! is not the same in an invoice and a credit note.

mod parties;

use baywright_domain::document::CategoryTotal;
use baywright_domain::invoice::InvoiceKind;
use baywright_domain::money::Money;
use baywright_domain::tax::{Category, Treatment};

use crate::check::{Checked, exemption_code};
use crate::figures::{CHARGE, Change, DISCOUNT, Figures, amount};
use crate::issued::{LineText, said};
use crate::xml::Xml;

/// Specification of a file that follows EN 16931 and nothing else (BT-24).
const CORE: &str = "urn:cen.eu:en16931:2017";
/// Specification of a file for the Peppol network.
const PEPPOL: &str = "urn:cen.eu:en16931:2017#compliant#urn:fdc:peppol.eu:2017:poacc:billing:3.0";
/// Process of a file for the Peppol network (BT-23).
const PEPPOL_PROCESS: &str = "urn:fdc:peppol.eu:2017:poacc:billing:01:1.0";
/// Means of payment (UNTDID 4461): a transfer, and one in euro.
const TRANSFER: &str = "30";
const TRANSFER_IN_EURO: &str = "58";
/// Unit of quantities (UN/ECE Recommendation 20): one piece.
pub(crate) const PIECE: &str = "C62";

/// Names of elements that an invoice and a credit note call differently.
struct Names {
    root: &'static str,
    namespace: &'static str,
    line: &'static str,
    quantity: &'static str,
}

const INVOICE: Names = Names {
    root: "Invoice",
    namespace: "urn:oasis:names:specification:ubl:schema:xsd:Invoice-2",
    line: "cac:InvoiceLine",
    quantity: "cbc:InvoicedQuantity",
};
const CREDIT_NOTE: Names = Names {
    root: "CreditNote",
    namespace: "urn:oasis:names:specification:ubl:schema:xsd:CreditNote-2",
    line: "cac:CreditNoteLine",
    quantity: "cbc:CreditedQuantity",
};

impl Checked<'_> {
    /// The document in UBL 2.1.
    pub fn ubl(&self) -> String {
        let names = if self.issued.kind == InvoiceKind::CreditNote { CREDIT_NOTE } else { INVOICE };
        let attributes = [
            ("xmlns", names.namespace),
            ("xmlns:cac", "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2"),
            ("xmlns:cbc", "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2"),
        ];
        let mut xml = Xml::new();
        xml.element_with(names.root, &attributes, |xml| {
            self.head(xml);
            self.references(xml);
            xml.element("cac:AccountingSupplierParty", |xml| parties::seller(xml, self.issued));
            xml.element("cac:AccountingCustomerParty", |xml| parties::buyer(xml, self.issued));
            if let Some(day) = self.issued.supplied_on {
                xml.element("cac:Delivery", |xml| xml.text("cbc:ActualDeliveryDate", day.to_string()));
            }
            self.paying(xml);
            self.adjustments(xml);
            self.taxes(xml);
            self.sums(xml);
            for (at, (text, figures)) in self.issued.lines.iter().zip(&self.figures).enumerate() {
                xml.element(names.line, |xml| self.line(xml, &names, at, text, figures));
            }
        });
        xml.finish()
    }

    fn head(&self, xml: &mut Xml) {
        let issued = self.issued;
        let peppol = issued.is_for_peppol();
        xml.text("cbc:CustomizationID", if peppol { PEPPOL } else { CORE });
        xml.maybe("cbc:ProfileID", peppol.then_some(PEPPOL_PROCESS));
        xml.text("cbc:ID", issued.number.trim());
        xml.text("cbc:IssueDate", issued.issued_on.to_string());
        let tax_point = issued.tax_point.map(|day| day.to_string());
        if issued.kind == InvoiceKind::CreditNote {
            xml.maybe("cbc:TaxPointDate", tax_point);
            xml.text("cbc:CreditNoteTypeCode", issued.kind.type_code());
            xml.maybe("cbc:Note", said(issued.note.as_ref()));
        } else {
            xml.maybe("cbc:DueDate", issued.due_on.map(|day| day.to_string()));
            xml.text("cbc:InvoiceTypeCode", issued.kind.type_code());
            xml.maybe("cbc:Note", said(issued.note.as_ref()));
            xml.maybe("cbc:TaxPointDate", tax_point);
        }
        xml.text("cbc:DocumentCurrencyCode", self.currency().code());
        xml.maybe("cbc:BuyerReference", said(issued.buyer_reference.as_ref()));
    }

    fn references(&self, xml: &mut Xml) {
        if let Some(order) = said(self.issued.purchase_order.as_ref()) {
            xml.element("cac:OrderReference", |xml| xml.text("cbc:ID", order));
        }
        for preceding in &self.issued.preceding {
            xml.element("cac:BillingReference", |xml| {
                xml.element("cac:InvoiceDocumentReference", |xml| {
                    xml.text("cbc:ID", preceding.number.trim());
                    xml.maybe("cbc:IssueDate", preceding.issued_on.map(|day| day.to_string()));
                });
            });
        }
    }

    fn paying(&self, xml: &mut Xml) {
        if let Some(account) = &self.issued.account {
            xml.element("cac:PaymentMeans", |xml| {
                xml.text("cbc:PaymentMeansCode", self.means_of_payment());
                xml.maybe("cbc:PaymentID", said(self.issued.payment_reference.as_ref()));
                xml.element("cac:PayeeFinancialAccount", |xml| xml.text("cbc:ID", account.as_str()));
            });
        }
        if let Some(terms) = said(self.issued.terms.as_ref()) {
            xml.element("cac:PaymentTerms", |xml| xml.text("cbc:Note", terms));
        }
    }

    /// Code of the means of payment (BT-81).
    pub(crate) fn means_of_payment(&self) -> &'static str {
        if self.currency().code() == "EUR" { TRANSFER_IN_EURO } else { TRANSFER }
    }

    /// Allowances and charges on the whole document, without tax.
    fn adjustments(&self, xml: &mut Xml) {
        for (change, treatment) in self.whole_changes() {
            self.change(xml, &change, Some(treatment));
        }
    }

    /// Allowances and charges on the whole document, each with its category and rate.
    pub(crate) fn whole_changes(&self) -> Vec<(Change, Treatment)> {
        let totals = &self.totals;
        let allowances = totals.allowance_items.iter().zip(&totals.allowance_nets).map(|pair| (false, pair));
        let charges = self.issued.document.charges.iter().zip(&totals.charge_nets).map(|pair| (true, pair));
        let all = allowances.chain(charges).map(|(is_charge, (item, &amount))| {
            let usual = if is_charge { CHARGE } else { DISCOUNT };
            let reason = said(item.reason.as_ref()).unwrap_or(usual).to_owned();
            (Change { is_charge, amount, reason }, item.treatment)
        });
        all.filter(|(change, _)| !change.amount.is_zero()).collect()
    }

    fn change(&self, xml: &mut Xml, change: &Change, treatment: Option<Treatment>) {
        xml.element("cac:AllowanceCharge", |xml| {
            xml.text("cbc:ChargeIndicator", if change.is_charge { "true" } else { "false" });
            let usual = if change.is_charge { CHARGE } else { DISCOUNT };
            xml.text("cbc:AllowanceChargeReason", said(Some(&change.reason)).unwrap_or(usual));
            self.amount(xml, "cbc:Amount", change.amount);
            if let Some(treatment) = treatment {
                category(xml, "cac:TaxCategory", treatment, |_| ());
            }
        });
    }

    fn taxes(&self, xml: &mut Xml) {
        xml.element("cac:TaxTotal", |xml| {
            self.amount(xml, "cbc:TaxAmount", self.totals.tax);
            for row in &self.totals.taxes {
                xml.element("cac:TaxSubtotal", |xml| self.tax(xml, row));
            }
        });
    }

    fn tax(&self, xml: &mut Xml, row: &CategoryTotal) {
        self.amount(xml, "cbc:TaxableAmount", row.taxable);
        self.amount(xml, "cbc:TaxAmount", row.tax);
        category(xml, "cac:TaxCategory", row.treatment, |xml| {
            if row.treatment.category().needs_reason() {
                xml.maybe("cbc:TaxExemptionReasonCode", exemption_code(row.treatment.category()));
                xml.maybe("cbc:TaxExemptionReason", self.exemption(row));
            }
        });
    }

    fn sums(&self, xml: &mut Xml) {
        let totals = &self.totals;
        let optional = [
            ("cbc:AllowanceTotalAmount", totals.allowances),
            ("cbc:ChargeTotalAmount", totals.charges),
            ("cbc:PrepaidAmount", totals.prepaid),
            ("cbc:PayableRoundingAmount", totals.rounding),
        ];
        xml.element("cac:LegalMonetaryTotal", |xml| {
            self.amount(xml, "cbc:LineExtensionAmount", totals.sum_of_lines);
            self.amount(xml, "cbc:TaxExclusiveAmount", totals.net);
            self.amount(xml, "cbc:TaxInclusiveAmount", totals.gross);
            for (name, sum) in optional.into_iter().filter(|(_, sum)| !sum.is_zero()) {
                self.amount(xml, name, sum);
            }
            self.amount(xml, "cbc:PayableAmount", totals.payable);
        });
    }

    fn line(&self, xml: &mut Xml, names: &Names, at: usize, text: &LineText, figures: &Figures) {
        xml.text("cbc:ID", (at + 1).to_string());
        xml.maybe("cbc:Note", line_note(text, figures));
        xml.text_with(names.quantity, &[("unitCode", PIECE)], figures.quantity.to_string());
        self.amount(xml, "cbc:LineExtensionAmount", figures.net);
        for change in &figures.changes {
            self.change(xml, change, None);
        }
        xml.element("cac:Item", |xml| {
            xml.text("cbc:Name", text.name.trim());
            if let Some(line) = self.issued.document.lines.get(at) {
                category(xml, "cac:ClassifiedTaxCategory", line.treatment, |_| ());
            }
        });
        xml.element("cac:Price", |xml| {
            let currency = [("currencyID", self.currency().code())];
            xml.text_with("cbc:PriceAmount", &currency, figures.price.to_string());
            if figures.base_quantity != 1.into() {
                xml.text_with("cbc:BaseQuantity", &[("unitCode", PIECE)], figures.base_quantity.to_string());
            }
        });
    }

    fn amount(&self, xml: &mut Xml, name: &'static str, money: Money) {
        xml.text_with(name, &[("currencyID", self.currency().code())], amount(money, self.currency()));
    }
}

/// Note of a line: its own, and the sentence about a discount in its price.
pub(crate) fn line_note(text: &LineText, figures: &Figures) -> Option<String> {
    let parts: Vec<&str> = said(text.note.as_ref()).into_iter().chain(figures.remark.as_deref()).collect();
    (!parts.is_empty()).then(|| parts.join(". "))
}

/// Rate of a treatment as a file states it; lines outside the scope of VAT have none (BR-O-05).
pub(crate) fn rate(treatment: Treatment) -> Option<String> {
    let is_stated = treatment.category() != Category::OutOfScope;
    is_stated.then(|| treatment.rate().decimal().to_string())
}

fn category(xml: &mut Xml, name: &'static str, treatment: Treatment, reason: impl FnOnce(&mut Xml)) {
    xml.element(name, |xml| {
        xml.text("cbc:ID", treatment.category().code());
        xml.maybe("cbc:Percent", rate(treatment));
        reason(xml);
        xml.element("cac:TaxScheme", |xml| xml.text("cbc:ID", "VAT"));
    });
}
