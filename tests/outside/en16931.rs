//! Fourteen official example invoices and credit notes, recomputed from their lines by the domain itself.
//!
//! Source: `data/en16931/SOURCE.md` (EN 16931 validation artefacts 1.3.16, Peppol BIS Billing 3.0.19).
//! Left out: nothing; every line net, tax row and total that an invoice states is compared.

use baywright_domain::document::{Adjustment, Document, Line, Prices};
use baywright_domain::money::{Currency, Money, Percent, Rounding, read_decimal};
use baywright_domain::tax::{Basis, Category, Profile, Treatment};
use serde_json::Value;

const INVOICES: &str = include_str!("../data/en16931/en16931-recompute.json");

fn text<'a>(value: &'a Value, name: &str) -> &'a str {
    value[name].as_str().unwrap_or_else(|| panic!("{name} of {value}"))
}

fn treatment(value: &Value) -> Treatment {
    let rate = Percent::new(read_decimal(text(value, "rate")).unwrap()).unwrap();
    Treatment::new(Category::of(text(value, "cat")).unwrap(), rate).unwrap()
}

fn list<'a>(value: &'a Value, name: &str) -> &'a Vec<Value> {
    value[name].as_array().unwrap()
}

fn document(invoice: &Value, profile: Profile) -> Document {
    let currency = Currency::of(text(invoice, "currency")).unwrap();
    let money = |text: &str| Money::parse(text, currency).unwrap();
    let lines = list(invoice, "lines").iter().map(|line| Line {
        base_quantity: read_decimal(text(line, "base")).unwrap(),
        allowance: money(text(line, "allowance")),
        charge: money(text(line, "charge")),
        ..Line::new(
            read_decimal(text(line, "qty")).unwrap(),
            read_decimal(text(line, "price")).unwrap(),
            treatment(line),
        )
    });
    let mut document = Document::new(currency, Prices::Net, profile, lines.collect());
    for item in list(invoice, "document_allowance_charges") {
        let (amount, treatment) = (money(text(item, "amount")), treatment(item));
        let adjustment = Adjustment { amount, treatment, reason: None };
        if item["charge"] == true { &mut document.charges } else { &mut document.allowances }.push(adjustment);
    }
    let total = |name: &str| invoice["totals"][name].as_str().map_or(Money::ZERO, money);
    document.prepaid = total("PrepaidAmount");
    document.rounding = total("PayableRoundingAmount");
    document
}

/// The differences between what an invoice states and what a profile computes.
fn differences(invoice: &Value, profile: Profile) -> Vec<String> {
    let document = document(invoice, profile);
    let totals = document.totals().unwrap();
    let money = |text: &str| Money::parse(text, document.currency).unwrap();
    let mut found = Vec::new();
    let mut compare = |what: &str, stated: &Value, computed: Money| {
        if let Some(stated) = stated.as_str().map(money)
            && stated != computed
        {
            found.push(format!("{what} of {}: {stated}, not {computed}", invoice["file"]));
        }
    };
    let lines = list(invoice, "lines");
    assert_eq!(lines.len(), totals.lines.len());
    for (stated, computed) in lines.iter().zip(&totals.lines) {
        compare("line net", &stated["net"], computed.net);
    }
    let rows = list(invoice, "vat_breakdown");
    assert_eq!(rows.len(), totals.taxes.len(), "tax rows of {}", invoice["file"]);
    for stated in rows {
        let computed = totals.taxes.iter().find(|row| row.treatment == treatment(stated)).unwrap();
        compare("taxable", &stated["taxable"], computed.taxable);
        compare("tax", &stated["tax"], computed.tax);
    }
    compare("all tax", &invoice["vat_total"], totals.tax);
    for (name, computed) in [
        ("LineExtensionAmount", totals.sum_of_lines),
        ("AllowanceTotalAmount", totals.allowances),
        ("ChargeTotalAmount", totals.charges),
        ("TaxExclusiveAmount", totals.net),
        ("TaxInclusiveAmount", totals.gross),
        ("PrepaidAmount", totals.prepaid),
        ("PayableRoundingAmount", totals.rounding),
        ("PayableAmount", totals.payable),
    ] {
        compare(name, &invoice["totals"][name], computed);
    }
    found
}

fn all_differences(profile: Profile) -> Vec<String> {
    let file: Value = serde_json::from_str(INVOICES).unwrap();
    let invoices = list(&file, "invoices");
    assert_eq!(invoices.len(), 14);
    invoices.iter().flat_map(|invoice| differences(invoice, profile)).collect()
}

#[test]
fn official_invoices_recompute_to_the_cent() {
    assert_eq!(all_differences(Profile::EN_16931), Vec::<String>::new());
}

/// The examples tell the standard's rounding from others: each other profile computes something else somewhere.
#[test]
fn other_roundings_do_not_recompute_the_official_invoices() {
    let other = |basis, rounding| all_differences(Profile { basis, rounding });
    for rounding in [Rounding::TowardZero, Rounding::HalfTowardZero] {
        assert!(!other(Basis::Category, rounding).is_empty(), "{rounding:?}");
    }
    assert!(!other(Basis::Line, Rounding::HalfAwayFromZero).is_empty());
}
