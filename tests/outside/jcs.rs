//! Canonical JSON (RFC 8785), as the documents that are signed are written.
//!
//! Source: `data/jcs/SOURCE.md` for the numbers; the two examples are those of RFC 8785, sections 3.2.2 and 3.2.3,
//! written down from memory and confirmed with the general library `rfc8785`. Nothing is left out.

use baywright_core::platform::canonical::{NotCanonical, canonical, digest};
use serde_json::{Number, Value, json};

#[test]
fn numbers_are_written_as_published() {
    let rows: Vec<[String; 2]> = serde_json::from_str(include_str!("../data/jcs/rfc8785-numbers.json")).unwrap();
    assert!(rows.len() >= 15);
    for [bits, text] in rows {
        let double = f64::from_bits(u64::from_str_radix(&bits, 16).unwrap());
        let made = Value::Number(Number::from_f64(double).unwrap());
        assert_eq!(canonical(&made).as_deref(), Ok(text.as_str()), "{bits}");
        // The same number read from text, with far more digits than it needs.
        let read: Value = serde_json::from_str(&format!("{double:.30e}")).unwrap();
        assert_eq!(canonical(&read).as_deref(), Ok(text.as_str()), "{bits}");
    }
}

#[test]
fn the_example_of_section_3_2_2_is_written_as_published() {
    let value: Value = serde_json::from_str(
        r#"{
            "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
            "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
            "literals": [null, true, false]
        }"#,
    )
    .unwrap();
    let expected = concat!(
        r#"{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"#,
        r#""string":"€$\u000f\nA'B\"\\\\\"/"}"#
    );
    assert_eq!(canonical(&value).as_deref(), Ok(expected));
}

#[test]
fn names_are_sorted_by_utf_16_as_section_3_2_3_says() {
    let value = json!({
        "\u{20ac}": "Euro Sign",
        "\r": "Carriage Return",
        "\u{fb33}": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\u{1f600}": "Emoji: Grinning Face",
        "\u{80}": "Control",
        "\u{f6}": "Latin Small Letter O With Diaeresis"
    });
    let text = canonical(&value).unwrap();
    let order = ["Carriage Return", "One", "Control", "Latin", "Euro", "Emoji", "Hebrew"];
    let places: Vec<usize> = order.iter().map(|name| text.find(name).unwrap()).collect();
    assert!(places.is_sorted(), "{text}");
}

#[test]
fn an_integer_that_a_double_cannot_hold_is_refused_with_its_place() {
    let largest = 1_i64 << 53;
    assert_eq!(canonical(&json!([largest, -largest])).as_deref(), Ok("[9007199254740992,-9007199254740992]"));
    for wrong in ["9007199254740993", "-9007199254740993", "18446744073709551616", "100000000000000000000000000000"] {
        let value = serde_json::from_str(&format!(r#"{{"a/b":[0,{wrong}]}}"#)).unwrap();
        let expected = NotCanonical::Integer { pointer: "/a~1b/1".into(), number: wrong.into() };
        assert_eq!(canonical(&value), Err(expected));
    }
    let endless = serde_json::from_str("[1e400]").unwrap();
    assert!(matches!(canonical(&endless), Err(NotCanonical::Number { .. })));
}

/// FIPS 180-4: the digests of "abc" and of nothing, as NIST's examples give them (from memory).
#[test]
fn digests_are_those_of_sha_256() {
    assert_eq!(digest("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_eq!(digest(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}
