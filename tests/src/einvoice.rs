//! Documents of every kind that a shop issues, as electronic invoices are made from them. All names are invented.

use baywright_domain::country::Country;
use baywright_domain::document::{Adjustment, Discount, DiscountSize, Document, Line, Prices};
use baywright_domain::invoice::InvoiceKind;
use baywright_domain::money::{Currency, Money, Percent};
use baywright_domain::payment::Iban;
use baywright_domain::tax::{Category, Profile, Treatment};
use baywright_domain::vat_id::VatId;
use baywright_einvoice::{Address, Contact, Endpoint, ExemptionReason, Issued, LineText, Party, Preceding};
use chrono::NaiveDate;

/// Every document, each with the name of its file.
pub fn samples() -> Vec<(&'static str, Issued)> {
    vec![
        ("trade", trade()),
        ("private", private()),
        ("deposit", deposit()),
        ("deposit-deducted", deposit_deducted()),
        ("credit-note", credit_note()),
        ("small-business", untaxed(Category::Exempt, Some("Small enterprise scheme"))),
        ("reverse-charge", untaxed(Category::ReverseCharge, Some("Reverse charge"))),
        ("out-of-scope", untaxed(Category::OutOfScope, None)),
        ("zero-rated", untaxed(Category::ZeroRated, None)),
        ("export", untaxed(Category::Export, None)),
        ("two-rates", two_rates()),
        ("price-without-end", price_without_end()),
        ("no-minor-unit", no_minor_unit()),
        ("strange-texts", strange_texts()),
    ]
}

/// A document for a firm in the Peppol network, with all that a document can say.
pub fn trade() -> Issued {
    let mut polish = line("6.5", "65", 19);
    polish.discount =
        Some(Discount { size: DiscountSize::Amount(Money::from_minor(2_250)), reason: "Fleet".to_owned() });
    let mut document = document(Prices::Net, vec![line("1", "89", 19), polish]);
    document.allowances = vec![Adjustment {
        amount: Money::from_minor(2_000),
        treatment: standard(19),
        reason: Some("Returning customer".to_owned()),
    }];
    document.prepaid = Money::from_minor(15_000);
    let texts = ["Hand wash and decontamination", "Two-stage machine polish"];
    let mut issued = issued(document, &texts);
    for text in &mut issued.lines {
        text.note = Some("Q-2026-0042".to_owned());
    }
    issued.buyer = fleet();
    issued.tax_point = Some(day(2026, 3, 30));
    issued.supplied_on = Some(day(2026, 3, 30));
    issued.seller.endpoint = Some(endpoint("DE123456788"));
    issued.buyer.endpoint = Some(endpoint("DE136695976"));
    issued.buyer_reference = Some("FLEET-7".to_owned());
    issued.purchase_order = Some("PO-1007".to_owned());
    issued.preceding = vec![Preceding { number: "DEP-2026-0007".to_owned(), issued_on: Some(day(2026, 3, 3)) }];
    issued.payment_reference = Some("RF61INV20260042".to_owned());
    issued.terms = Some("14 days".to_owned());
    issued.note = Some("Thank you & come again".to_owned());
    issued
}

/// A document for a private person whose price with tax is reached by no price without it: the rounding carries a cent.
pub fn private() -> Issued {
    let mut issued = issued(document(Prices::Gross, vec![line("3", "33.33", 19)]), &["Odour treatment"]);
    issued.number = "INV-2026-0043".to_owned();
    issued
}

fn deposit() -> Issued {
    let mut issued = issued(document(Prices::Gross, vec![line("1", "150", 19)]), &["Deposit for quote Q-2026-0042"]);
    issued.kind = InvoiceKind::Deposit;
    issued
}

fn deposit_deducted() -> Issued {
    let lines = vec![line("1", "690", 19), line("-1", "150", 19)];
    let mut issued = issued(document(Prices::Gross, lines), &["Ceramic coating", "Less deposit DEP-2026-0007"]);
    issued.preceding = vec![Preceding { number: "DEP-2026-0007".to_owned(), issued_on: None }];
    issued
}

/// A credit note for a part of an invoice.
pub fn credit_note() -> Issued {
    let mut issued = issued(document(Prices::Net, vec![line("0.5", "65", 19)]), &["Half an hour that was not used"]);
    issued.kind = InvoiceKind::CreditNote;
    issued.number = "CN-2026-0001".to_owned();
    issued.tax_point = Some(day(2026, 3, 30));
    issued.account = None;
    issued.preceding = vec![Preceding { number: "INV-2026-0042".to_owned(), issued_on: Some(day(2026, 3, 31)) }];
    issued.terms = Some("We pay the amount back to you".to_owned());
    issued
}

/// A document of one line in a category without tax.
pub fn untaxed(category: Category, reason: Option<&str>) -> Issued {
    let treatment = Treatment::new(category, Percent::ZERO).unwrap();
    let line = Line::new(1.into(), 120.into(), treatment);
    let mut issued = issued(document(Prices::Net, vec![line]), &["Interior clean"]);
    issued.exemptions = reason.map(|text| ExemptionReason { category, text: text.to_owned() }).into_iter().collect();
    issued.buyer = fleet();
    issued
}

fn two_rates() -> Issued {
    let mut wash = line("2", "49.90", 19);
    wash.discount = Some(Discount { size: DiscountSize::Percent(Percent::whole(10)), reason: "Spring".to_owned() });
    let mut document = document(Prices::Gross, vec![wash, line("1", "21.40", 7), line("1.25", "60", 19)]);
    document.discounts =
        vec![Discount { size: DiscountSize::Percent(Percent::whole(5)), reason: "Returning customer".to_owned() }];
    document.charges = vec![Adjustment {
        amount: Money::from_minor(990),
        treatment: standard(19),
        reason: Some("Collection".to_owned()),
    }];
    issued(document, &["Hand wash", "Handbook", "Odour treatment"])
}

fn price_without_end() -> Issued {
    issued(document(Prices::Gross, vec![line("7", "14.99", 19), line("0.333", "89", 19)]), &["Hand wash", "Polish"])
}

fn no_minor_unit() -> Issued {
    let mut document = document(Prices::Net, vec![line("3", "1500", 10)]);
    document.currency = Currency::of("JPY").unwrap();
    issued(document, &["Hand wash"])
}

fn strange_texts() -> Issued {
    let name = "<Wax> & \u{7}\"polish\" \u{5d0}\u{5d1} \u{6f22}\u{5b57} \u{1f697}";
    let mut issued = issued(document(Prices::Net, vec![line("1", "20", 19)]), &[name]);
    issued.buyer.name = "Zo\u{eb} O'Example ]]> <b>".to_owned();
    issued.note = Some("One line\nand another".to_owned());
    issued
}

fn document(prices: Prices, lines: Vec<Line>) -> Document {
    Document::new(Currency::EUR, prices, Profile::EN_16931, lines)
}

fn standard(rate: u8) -> Treatment {
    Treatment::new(Category::Standard, Percent::whole(rate)).unwrap()
}

fn line(quantity: &str, price: &str, rate: u8) -> Line {
    Line::new(quantity.parse().unwrap(), price.parse().unwrap(), standard(rate))
}

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

fn issued(document: Document, names: &[&str]) -> Issued {
    let lines = names.iter().map(|name| LineText { name: (*name).to_owned(), note: None });
    Issued {
        kind: InvoiceKind::Final,
        number: "INV-2026-0042".to_owned(),
        issued_on: day(2026, 3, 31),
        due_on: Some(day(2026, 4, 14)),
        tax_point: None,
        supplied_on: None,
        document,
        lines: lines.collect(),
        exemptions: Vec::new(),
        seller: seller(),
        buyer: person("Zo\u{eb} Example"),
        buyer_reference: None,
        purchase_order: None,
        preceding: Vec::new(),
        account: Some(Iban::parse("DE89370400440532013000").unwrap()),
        payment_reference: None,
        terms: None,
        note: None,
    }
}

fn endpoint(id: &str) -> Endpoint {
    Endpoint { scheme: "9930".to_owned(), id: id.to_owned() }
}

fn germany() -> Option<Country> {
    Some(Country::parse("DE").unwrap())
}

fn person(name: &str) -> Party {
    Party {
        name: name.to_owned(),
        trading_name: None,
        address: Address { country: germany(), ..Address::default() },
        vat_id: None,
        tax_number: None,
        company_number: None,
        endpoint: None,
        contact: Contact::default(),
    }
}

fn seller() -> Party {
    Party {
        trading_name: Some("Example Studio".to_owned()),
        address: address(&["Example Street 1"], None),
        vat_id: Some(VatId::parse("DE123456788").unwrap()),
        company_number: Some("HRB 00000".to_owned()),
        contact: Contact {
            name: Some("Desk".to_owned()),
            phone: Some("+49 30 0000000".to_owned()),
            email: Some("desk@example.test".to_owned()),
        },
        ..person("Example Studio Limited")
    }
}

fn fleet() -> Party {
    Party {
        address: address(&["Example Yard 2", " ", "Hall B", "Gate 3", "Dock 4"], Some("Example Region")),
        vat_id: Some(VatId::parse("DE136695976").unwrap()),
        ..person("Example Fleet")
    }
}

fn address(lines: &[&str], region: Option<&str>) -> Address {
    Address {
        lines: lines.iter().map(|line| (*line).to_owned()).collect(),
        town: Some("Exampletown".to_owned()),
        postcode: Some("10115".to_owned()),
        region: region.map(str::to_owned),
        country: germany(),
    }
}
