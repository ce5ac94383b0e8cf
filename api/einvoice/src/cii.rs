//! A document as a cross industry invoice of UN/CEFACT (D16B), by the binding of EN 16931-3-3: the form that is embedded in
//! a PDF. Elements stand in the order of its schema, lines first.

mod parties;

use baywright_domain::document::CategoryTotal;
use baywright_domain::money::Money;
use baywright_domain::tax::Treatment;
use chrono::NaiveDate;

use crate::check::{Checked, exemption_code};
use crate::figures::{Change, Figures, amount};
use crate::issued::{LineText, said};
use crate::ubl::{PIECE, line_note, rate};
use crate::xml::Xml;

/// Specification of the file (BT-24). One that is embedded in a PDF follows EN 16931 alone, whatever network the buyer is in.
const CORE: &str = "urn:cen.eu:en16931:2017";
/// Format of dates: year, month and day in eight digits (UNTDID 2379).
const DAY: [(&str, &str); 1] = [("format", "102")];

impl Checked<'_> {
    /// The document in CII.
    pub fn cii(&self) -> String {
        let namespaces = [
            ("xmlns:rsm", "urn:un:unece:uncefact:data:standard:CrossIndustryInvoice:100"),
            ("xmlns:qdt", "urn:un:unece:uncefact:data:standard:QualifiedDataType:100"),
            ("xmlns:ram", "urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100"),
            ("xmlns:udt", "urn:un:unece:uncefact:data:standard:UnqualifiedDataType:100"),
        ];
        let mut xml = Xml::new();
        xml.element_with("rsm:CrossIndustryInvoice", &namespaces, |xml| {
            xml.element("rsm:ExchangedDocumentContext", |xml| {
                xml.element("ram:GuidelineSpecifiedDocumentContextParameter", |xml| xml.text("ram:ID", CORE));
            });
            xml.element("rsm:ExchangedDocument", |xml| self.exchanged(xml));
            xml.element("rsm:SupplyChainTradeTransaction", |xml| {
                for (at, (text, figures)) in self.issued.lines.iter().zip(&self.figures).enumerate() {
                    xml.element("ram:IncludedSupplyChainTradeLineItem", |xml| self.item(xml, at, text, figures));
                }
                xml.element("ram:ApplicableHeaderTradeAgreement", |xml| self.agreement(xml));
                xml.element("ram:ApplicableHeaderTradeDelivery", |xml| self.delivery(xml));
                xml.element("ram:ApplicableHeaderTradeSettlement", |xml| self.settlement(xml));
            });
        });
        xml.finish()
    }

    fn exchanged(&self, xml: &mut Xml) {
        xml.text("ram:ID", self.issued.number.trim());
        xml.text("ram:TypeCode", self.issued.kind.type_code());
        xml.element("ram:IssueDateTime", |xml| day(xml, self.issued.issued_on));
        if let Some(note) = said(self.issued.note.as_ref()) {
            xml.element("ram:IncludedNote", |xml| xml.text("ram:Content", note));
        }
    }

    fn item(&self, xml: &mut Xml, at: usize, text: &LineText, figures: &Figures) {
        xml.element("ram:AssociatedDocumentLineDocument", |xml| {
            xml.text("ram:LineID", (at + 1).to_string());
            if let Some(note) = line_note(text, figures) {
                xml.element("ram:IncludedNote", |xml| xml.text("ram:Content", note));
            }
        });
        xml.element("ram:SpecifiedTradeProduct", |xml| xml.text("ram:Name", text.name.trim()));
        xml.element("ram:SpecifiedLineTradeAgreement", |xml| {
            xml.element("ram:NetPriceProductTradePrice", |xml| {
                xml.text("ram:ChargeAmount", figures.price.to_string());
                if figures.base_quantity != 1.into() {
                    xml.text_with("ram:BasisQuantity", &[("unitCode", PIECE)], figures.base_quantity.to_string());
                }
            });
        });
        xml.element("ram:SpecifiedLineTradeDelivery", |xml| {
            xml.text_with("ram:BilledQuantity", &[("unitCode", PIECE)], figures.quantity.to_string());
        });
        xml.element("ram:SpecifiedLineTradeSettlement", |xml| {
            if let Some(line) = self.issued.document.lines.get(at) {
                xml.element("ram:ApplicableTradeTax", |xml| category(xml, line.treatment));
            }
            for change in &figures.changes {
                self.trade_change(xml, change, None);
            }
            xml.element("ram:SpecifiedTradeSettlementLineMonetarySummation", |xml| {
                self.figure(xml, "ram:LineTotalAmount", figures.net);
            });
        });
    }

    fn agreement(&self, xml: &mut Xml) {
        xml.maybe("ram:BuyerReference", said(self.issued.buyer_reference.as_ref()));
        xml.element("ram:SellerTradeParty", |xml| parties::seller(xml, self.issued));
        xml.element("ram:BuyerTradeParty", |xml| parties::buyer(xml, self.issued));
        if let Some(order) = said(self.issued.purchase_order.as_ref()) {
            xml.element("ram:BuyerOrderReferencedDocument", |xml| xml.text("ram:IssuerAssignedID", order));
        }
    }

    fn delivery(&self, xml: &mut Xml) {
        if let Some(supplied) = self.issued.supplied_on {
            xml.element("ram:ActualDeliverySupplyChainEvent", |xml| {
                xml.element("ram:OccurrenceDateTime", |xml| day(xml, supplied));
            });
        }
    }

    fn settlement(&self, xml: &mut Xml) {
        let issued = self.issued;
        xml.maybe("ram:PaymentReference", said(issued.payment_reference.as_ref()));
        xml.text("ram:InvoiceCurrencyCode", self.currency().code());
        if let Some(account) = &issued.account {
            xml.element("ram:SpecifiedTradeSettlementPaymentMeans", |xml| {
                xml.text("ram:TypeCode", self.means_of_payment());
                xml.element("ram:PayeePartyCreditorFinancialAccount", |xml| xml.text("ram:IBANID", account.as_str()));
            });
        }
        for row in &self.totals.taxes {
            xml.element("ram:ApplicableTradeTax", |xml| self.trade_tax(xml, row));
        }
        for (change, treatment) in self.whole_changes() {
            self.trade_change(xml, &change, Some(treatment));
        }
        let terms = said(issued.terms.as_ref());
        if terms.is_some() || issued.due_on.is_some() {
            xml.element("ram:SpecifiedTradePaymentTerms", |xml| {
                xml.maybe("ram:Description", terms);
                if let Some(due) = issued.due_on {
                    xml.element("ram:DueDateDateTime", |xml| day(xml, due));
                }
            });
        }
        xml.element("ram:SpecifiedTradeSettlementHeaderMonetarySummation", |xml| self.summation(xml));
        for preceding in &issued.preceding {
            xml.element("ram:InvoiceReferencedDocument", |xml| {
                xml.text("ram:IssuerAssignedID", preceding.number.trim());
                if let Some(issued_on) = preceding.issued_on {
                    xml.element("ram:FormattedIssueDateTime", |xml| {
                        xml.text_with("qdt:DateTimeString", &DAY, digits(issued_on));
                    });
                }
            });
        }
    }

    fn trade_tax(&self, xml: &mut Xml, row: &CategoryTotal) {
        let category = row.treatment.category();
        self.figure(xml, "ram:CalculatedAmount", row.tax);
        xml.text("ram:TypeCode", "VAT");
        if category.needs_reason() {
            xml.maybe("ram:ExemptionReason", self.exemption(row));
        }
        self.figure(xml, "ram:BasisAmount", row.taxable);
        xml.text("ram:CategoryCode", category.code());
        if category.needs_reason() {
            xml.maybe("ram:ExemptionReasonCode", exemption_code(category));
        }
        if let Some(tax_point) = self.issued.tax_point {
            xml.element("ram:TaxPointDate", |xml| xml.text_with("udt:DateString", &DAY, digits(tax_point)));
        }
        xml.maybe("ram:RateApplicablePercent", rate(row.treatment));
    }

    fn trade_change(&self, xml: &mut Xml, change: &Change, treatment: Option<Treatment>) {
        xml.element("ram:SpecifiedTradeAllowanceCharge", |xml| {
            xml.element("ram:ChargeIndicator", |xml| {
                xml.text("udt:Indicator", if change.is_charge { "true" } else { "false" });
            });
            self.figure(xml, "ram:ActualAmount", change.amount);
            xml.text("ram:Reason", change.reason.trim());
            if let Some(treatment) = treatment {
                xml.element("ram:CategoryTradeTax", |xml| category(xml, treatment));
            }
        });
    }

    fn summation(&self, xml: &mut Xml) {
        let totals = &self.totals;
        let currency = [("currencyID", self.currency().code())];
        self.figure(xml, "ram:LineTotalAmount", totals.sum_of_lines);
        self.unless_zero(xml, "ram:ChargeTotalAmount", totals.charges);
        self.unless_zero(xml, "ram:AllowanceTotalAmount", totals.allowances);
        self.figure(xml, "ram:TaxBasisTotalAmount", totals.net);
        xml.text_with("ram:TaxTotalAmount", &currency, amount(totals.tax, self.currency()));
        self.unless_zero(xml, "ram:RoundingAmount", totals.rounding);
        self.figure(xml, "ram:GrandTotalAmount", totals.gross);
        self.unless_zero(xml, "ram:TotalPrepaidAmount", totals.prepaid);
        self.figure(xml, "ram:DuePayableAmount", totals.payable);
    }

    fn unless_zero(&self, xml: &mut Xml, name: &'static str, money: Money) {
        if !money.is_zero() {
            self.figure(xml, name, money);
        }
    }

    fn figure(&self, xml: &mut Xml, name: &'static str, money: Money) {
        xml.text(name, amount(money, self.currency()));
    }
}

fn category(xml: &mut Xml, treatment: Treatment) {
    xml.text("ram:TypeCode", "VAT");
    xml.text("ram:CategoryCode", treatment.category().code());
    xml.maybe("ram:RateApplicablePercent", rate(treatment));
}

fn day(xml: &mut Xml, day: NaiveDate) {
    xml.text_with("udt:DateTimeString", &DAY, digits(day));
}

fn digits(day: NaiveDate) -> String {
    day.to_string().replace('-', "")
}
