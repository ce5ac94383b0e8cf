//! Rules of the sign-off: what a yes needs, and what it takes.
use baywright_domain::id::PersonId;
use baywright_domain::pricing::{Choice, Item, Quoted, build};
use baywright_domain::quote::{QuoteRefusal, RevisionState, select};
use baywright_domain::refusal::{Kind, Refusal};
use baywright_domain::signoff::{Acceptance, Method, Offer, SignRefusal, accept};
use chrono::{DateTime, Utc};
use rust_decimal::Decimal;

use crate::studio::{code, medium, menu};

fn quoted() -> Quoted {
    let choice = |service, required| Choice {
        item: Item::Service(code(service)),
        quantity: Decimal::ONE,
        discount: None,
        required,
    };
    let choices = [choice("interior", true), choice("polish-one", false), choice("correct-two", false)];
    build(&menu(), medium(), &choices).unwrap()
}

fn at(seconds: i64) -> DateTime<Utc> {
    DateTime::from_timestamp(1_800_000_000 + seconds, 0).unwrap()
}

fn offer(quoted: &Quoted) -> Offer<'_> {
    Offer { current: true, digest: "d1", lines: &quoted.lines, conflicts: &quoted.conflicts, asks_early_start: false }
}

const YES: Acceptance<'static> = Acceptance {
    digest: "d1",
    typed_name: "Ada Example",
    intent: true,
    ticked: &[2],
    strokes: None,
    method: Method::Link,
    noted_by: None,
    early_start: None,
};

fn pointers(refusal: Result<impl Sized, SignRefusal>) -> Vec<String> {
    let faults = refusal.err().map(|refusal| refusal.faults()).unwrap_or_default();
    faults.into_iter().map(|fault| fault.pointer).collect()
}

#[test]
fn a_yes_takes_required_lines_and_ticked_ones() {
    let quoted = quoted();
    let accepted = accept(&offer(&quoted), &YES).unwrap();
    assert_eq!(accepted, [0, 2]);
    let nothing = accept(&offer(&quoted), &Acceptance { ticked: &[], ..YES }).unwrap();
    assert_eq!(nothing, [0]);
}

#[test]
fn a_yes_needs_a_typed_name_and_a_clear_intent_and_says_so_at_once() {
    let quoted = quoted();
    let empty = Acceptance { typed_name: " . ", intent: false, ticked: &[7], ..YES };
    assert_eq!(pointers(accept(&offer(&quoted), &empty)), ["/name", "/intent", "/choices/0"]);
}

#[test]
fn a_yes_counts_for_the_revision_that_was_shown_and_is_current() {
    let quoted = quoted();
    let other = Acceptance { digest: "d2", ..YES };
    assert_eq!(accept(&offer(&quoted), &other), Err(SignRefusal::Stale));
    let overtaken = Offer { current: false, ..offer(&quoted) };
    assert_eq!(accept(&overtaken, &YES), Err(SignRefusal::Stale));
}

#[test]
fn a_yes_after_the_quote_lapsed_is_gone() {
    assert_eq!(RevisionState::Sent.sign(at(99), at(100)), Ok(RevisionState::Signed));
    let late = RevisionState::Sent.sign(at(100), at(100)).unwrap_err();
    assert_eq!(late, QuoteRefusal::Lapsed { until: at(100) });
    assert_eq!((late.kind(), late.code()), (Kind::Gone, "quote-lapsed"));
    assert_eq!(RevisionState::Signed.sign(at(99), at(100)).unwrap_err().code(), "wrong-state");
}

#[test]
fn a_yes_by_phone_or_in_person_names_who_noted_it() {
    let quoted = quoted();
    let person = PersonId::new("p1");
    for method in [Method::Phone, Method::InPerson] {
        let alone = Acceptance { method, ..YES };
        assert_eq!(pointers(accept(&offer(&quoted), &alone)), ["/noted_by"]);
        assert!(accept(&offer(&quoted), &Acceptance { noted_by: Some(&person), ..alone }).is_ok());
    }
}

#[test]
fn an_early_start_is_asked_where_the_shop_asks() {
    let quoted = quoted();
    let asks = Offer { asks_early_start: true, ..offer(&quoted) };
    assert_eq!(pointers(accept(&asks, &YES)), ["/early_start"]);
    for wish in [true, false] {
        assert!(accept(&asks, &Acceptance { early_start: Some(wish), ..YES }).is_ok());
    }
}

#[test]
fn a_choice_never_takes_two_lines_that_exclude_each_other() {
    let Quoted { lines, conflicts } = quoted();
    assert_eq!(select(&lines, &conflicts, &[1, 1, 0]).unwrap(), [0, 1]);
    let both = select(&lines, &conflicts, &[1, 2]).unwrap_err();
    assert_eq!(both.faults[0].pointer, "/choices");
    assert!(both.to_string().contains("tick one of them"));
    assert_eq!(select(&lines[1..], &[], &[]).unwrap_err().faults[0].code, "missing");
}
