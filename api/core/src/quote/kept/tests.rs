//! Every form of stored quotes, variations and drafts, read from `tests/data/kept`.

use baywright_domain::document::DiscountSize;
use baywright_domain::invoice::DepositSize;
use baywright_domain::menu::Unit;
use baywright_domain::money::{Currency, Money};
use baywright_domain::pricing::Item;
use serde_json::Value;

use super::*;
use crate::platform::kept::golden::written_back;
use crate::platform::kept::{AmountOrPercent, Number};

macro_rules! kept {
    ($name:literal) => {
        include_str!(concat!("../../../../../tests/data/kept/", $name, ".json"))
    };
}

const FIRST: &str = kept!("quote-1-first");
const QUOTES: [&str; 3] = [kept!("quote-1"), kept!("quote-2"), kept!("quote-3")];
const VARIATIONS: [&str; 3] = [kept!("variation-1"), kept!("variation-2"), kept!("variation-3")];

fn read(text: &str) -> QuoteDocument {
    QuoteDocument::parse(text).unwrap()
}

fn number(text: &str) -> Number {
    Number(text.parse().unwrap())
}

#[test]
fn quotes_of_every_form_say_the_same_of_the_offer() {
    let current = read(QUOTES[2]);
    for (text, form) in [(FIRST, 1), (QUOTES[0], 1), (QUOTES[1], 2), (QUOTES[2], 3)] {
        let document = read(text);
        assert_eq!((document.form, document.number.as_str(), document.revision), (form, "Q-2026-0042", 2));
        assert_eq!((&document.variation_of, &document.change), (&None, &None));
        assert_eq!(document.required_totals, current.required_totals);
        assert_eq!(document.inspection, current.inspection);
        assert_eq!(document.offered().unwrap(), current.offered().unwrap());
    }
    assert_eq!(current.form, FORM);
    assert_eq!(current.sent_at.unwrap().0.to_string(), "2026-03-03T09:30:00.250Z");
    assert_eq!(current.inspection.unwrap().all_photos().count(), 3);
}

#[test]
fn what_a_quote_offers_is_read_as_the_rules_see_it() {
    let offered = read(QUOTES[2]).offered().unwrap();
    assert_eq!(offered.terms.currency, Currency::EUR);
    let (line, treatment) = &offered.lines[0];
    assert_eq!((line.amount, line.discount), (Money::from_minor(46_800), Money::from_minor(5_200)));
    assert_eq!(treatment.rate().decimal(), number("23").0);
    assert!(matches!(&offered.lines[1].0.item, Item::Package(code) if code.as_str() == "winter-package"));
    assert!(matches!(&offered.lines[3].0.item, Item::Custom { price, .. } if *price == Money::from_minor(6_000)));
    assert!(matches!(offered.terms.discounts[0].size, DiscountSize::Amount(amount) if amount.minor() == 2_000));
    assert!(matches!(offered.terms.discounts[1].size, DiscountSize::Percent(_)));
    assert!(matches!(offered.terms.deposit, Some(DepositSize::Percent(_))));
    assert_eq!(offered.conflicts.len(), 2);
}

#[test]
fn an_explanation_names_units_from_form_2_on() {
    let unit = |text: &str| read(text).lines[0].explanation[1].unit.map(|unit| unit.0);
    assert_eq!([FIRST, QUOTES[0]].map(unit), [None, None]);
    assert_eq!([QUOTES[1], QUOTES[2]].map(unit), [Some(Unit::Millilitre); 2]);
    let rows: Vec<LineExplanation> = written_back(kept!("explanation-1"));
    assert_eq!((rows.len(), rows[0].rows[2].unit.map(|unit| unit.0)), (5, Some(Unit::Piece)));
}

#[test]
fn a_variation_says_what_it_changes_from_form_3_on() {
    for (text, form) in VARIATIONS.into_iter().zip(1..) {
        let document = read(text);
        assert_eq!((document.form, document.variation_of.as_deref()), (form, Some("Q-2026-0042")));
        assert_eq!(document.change.is_some(), form == 3);
        let offered = document.offered().unwrap();
        let (dropped, _) = &offered.lines[2];
        assert_eq!((dropped.quantity, dropped.amount), (number("-1.5").0, Money::from_minor(-8_435)));
    }
    let variation = read(VARIATIONS[2]);
    let payable = &variation.required_totals.as_ref().unwrap().payable;
    let whole = variation.change.as_ref().unwrap().total_with(payable).unwrap();
    assert_eq!(whole.to_string(), "EUR 619.70");
}

#[test]
fn documents_of_the_current_form_are_written_back() {
    for text in [QUOTES[2], VARIATIONS[2]] {
        written_back::<QuoteDocument>(text);
    }
    let document: QuoteDocument = written_back(kept!("quote-3-nothing-required"));
    assert_eq!((document.required_totals, document.inspection), (None, None));
    let deposit = document.deposit.unwrap().size;
    assert_eq!(deposit, AmountOrPercent::of_amount(Money::from_minor(15_000), Currency::EUR));
}

#[test]
fn a_document_is_held_to_no_rule_of_today() {
    let mut document: Value = serde_json::from_str(QUOTES[0]).unwrap();
    document["notes"] = "a".repeat(100_000).into();
    document["customer"]["id"] = "an id of another kind".into();
    document["from_the_future"] = true.into();
    document["lines"][0]["name"] = "".into();
    let read = read(&document.to_string());
    assert_eq!((read.notes.len(), read.customer.id.as_str()), (100_000, "an id of another kind"));
}

#[test]
fn a_document_without_its_customer_keeps_its_form_and_prices() {
    for text in [FIRST, QUOTES[0], QUOTES[1], QUOTES[2]] {
        let before = read(text);
        let after = before.clone().without_customer("Erased");
        assert_eq!((after.form, &after.required_totals), (before.form, &before.required_totals));
        assert_eq!((after.customer.name.as_str(), after.inspection), ("Erased", None));
    }
}

#[test]
fn a_kept_draft_is_read_and_written_back() {
    let draft: QuoteDraft = written_back(kept!("quote-draft-1"));
    let choices = draft.choices(Currency::EUR).unwrap();
    assert!(matches!(&choices[0].item, Item::Service(code) if code.as_str() == "correction-two-step"));
    assert!(matches!(&choices[2].item, Item::Custom { price, .. } if *price == Money::from_minor(6_000)));
    assert_eq!(choices[2].quantity, number("1.5").0);
    assert_eq!(draft.document_discounts(Currency::EUR).unwrap().len(), 2);
    assert!(matches!(draft.deposit_size(Currency::EUR, None), Ok(Some(DepositSize::Percent(_)))));
}

#[test]
fn a_fault_of_a_draft_points_into_what_was_sent() {
    let mut draft: QuoteDraft = written_back(kept!("quote-draft-1"));
    let fault = |refused: crate::platform::refusal::Refused| {
        let fault = &refused.errors()[0];
        (fault.pointer.clone(), fault.code.clone())
    };
    let usd = Currency::of("USD").unwrap();
    let other = ("/lines/1/discount/off/amount/currency".to_owned(), "other_currency".to_owned());
    assert_eq!(fault(draft.choices(usd).unwrap_err()), other);
    draft.deposit = Some(AmountOrPercent::Percent(number("101")));
    let percent = ("/deposit/percent".to_owned(), "not_a_percentage".to_owned());
    assert_eq!(fault(draft.deposit_size(usd, None).unwrap_err()), percent);
}
