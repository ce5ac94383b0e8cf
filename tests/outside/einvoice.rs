//! Electronic invoices beside files that the official rules of EN 16931 accept (`tests/data/einvoice/SOURCE.md`), and
//! documents that are refused before they have a number.

use baywright_domain::invoice::InvoiceKind;
use baywright_domain::money::Currency;
use baywright_domain::refusal::Refusal;
use baywright_domain::tax::Category;
use baywright_einvoice::{Checked, Endpoint, Issued};
use baywright_tests::einvoice::{credit_note, private, samples, trade, untaxed};

#[test]
fn a_document_is_written_as_the_file_that_the_official_rules_accept() {
    let (trade, private) = (trade(), private());
    let (trade, private) = (Checked::new(&trade).unwrap(), Checked::new(&private).unwrap());
    assert_eq!(trade.ubl(), include_str!("../data/einvoice/trade.ubl.xml"));
    assert_eq!(trade.cii(), include_str!("../data/einvoice/trade.cii.xml"));
    assert_eq!(private.ubl(), include_str!("../data/einvoice/private.ubl.xml"));
    assert_eq!((trade.totals().payable.minor(), private.totals().payable.minor()), (40_811, 9_999));
}

#[test]
fn every_sample_is_written_and_always_in_the_same_bytes() {
    for (name, issued) in samples() {
        let checked = Checked::new(&issued).unwrap_or_else(|refused| panic!("{name}: {refused}"));
        assert_eq!((checked.ubl(), checked.cii()), (checked.ubl(), checked.cii()), "{name}");
    }
}

/// Pointers of the faults of a document after a change.
fn faults(mut issued: Issued, change: impl FnOnce(&mut Issued)) -> Vec<String> {
    change(&mut issued);
    let refused = Checked::new(&issued).unwrap_err();
    assert!(!refused.to_string().is_empty());
    refused.faults().into_iter().map(|fault| fault.pointer).collect()
}

#[test]
fn a_document_without_a_mandatory_term_is_refused_with_the_place() {
    assert_eq!(faults(private(), |issued| issued.number = " ".to_owned()), ["/number"]);
    assert_eq!(faults(private(), |issued| issued.seller.name.clear()), ["/seller/name"]);
    assert_eq!(faults(private(), |issued| issued.buyer.address.country = None), ["/buyer/address/country"]);
    assert_eq!(faults(private(), |issued| issued.lines[0].name.clear()), ["/lines/0/name"]);
    assert_eq!(faults(private(), |issued| issued.lines.clear()), ["/lines"]);
    assert_eq!(faults(private(), |issued| issued.due_on = None), ["/terms"]);
    assert_eq!(faults(private(), |issued| issued.document.lines.clear()), ["/document/lines"]);
    let dinar = |issued: &mut Issued| issued.document.currency = Currency::of("KWD").unwrap();
    assert_eq!(faults(private(), dinar), ["/document/currency"]);
    let nobody = |issued: &mut Issued| (issued.seller.vat_id, issued.seller.company_number) = (None, None);
    assert_eq!(faults(private(), nobody), ["/seller/company_number", "/seller/vat_id"]);
    assert_eq!(faults(private(), |issued| issued.kind = InvoiceKind::CreditNote), ["/preceding", "/terms"]);
    assert_eq!(faults(credit_note(), |issued| issued.terms = None), ["/terms"]);
}

#[test]
fn categories_without_tax_and_the_network_ask_for_more() {
    assert_eq!(faults(untaxed(Category::Exempt, None), |_| ()), ["/exemptions"]);
    assert_eq!(faults(untaxed(Category::IntraCommunity, Some("goods")), |_| ()), ["/document/lines"]);
    assert_eq!(faults(untaxed(Category::ReverseCharge, None), |issued| issued.buyer.vat_id = None), ["/buyer/vat_id"]);
    assert_eq!(
        faults(untaxed(Category::ReverseCharge, None), |issued| issued.seller.vat_id = None),
        ["/seller/vat_id"]
    );
    let unknown = |issued: &mut Issued| issued.seller.company_number = None;
    assert_eq!(faults(untaxed(Category::OutOfScope, None), unknown), ["/seller/company_number"]);
    assert_eq!(faults(trade(), |issued| issued.seller.endpoint = None), ["/seller/endpoint"]);
    let unnamed = |issued: &mut Issued| (issued.buyer_reference, issued.purchase_order) = (None, None);
    assert_eq!(faults(trade(), unnamed), ["/buyer_reference"]);
    let odd = Endpoint { scheme: "VAT".to_owned(), id: String::new() };
    let places = faults(trade(), |issued| issued.buyer.endpoint = Some(odd));
    assert_eq!(places, ["/buyer/endpoint/scheme", "/buyer/endpoint/id"]);
}

#[test]
fn a_document_outside_the_scope_of_vat_names_no_vat_number() {
    let issued = untaxed(Category::OutOfScope, None);
    let checked = Checked::new(&issued).unwrap();
    for text in [checked.ubl(), checked.cii()] {
        assert!(!text.contains("DE123456788") && !text.contains("DE136695976"), "{text}");
    }
}
