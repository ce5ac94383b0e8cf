//! Telephone numbers as they are typed.

use baywright_core::platform::fail::DbError;
use baywright_core::platform::phone::{key, parse};
use baywright_domain::country::Country;
use baywright_tests::make::customer;
use baywright_tests::make::menu::with;
use baywright_tests::on_each_engine;
use baywright_tests::person::Person;
use diesel::RunQueryDsl;
use serde_json::{Value, json};

fn read(written: &str, country: &str) -> Option<String> {
    parse(written, Country::parse(country).ok()).map(|number| number.international)
}

// Numbers are from ranges that regulators keep free for fiction, all from memory: 020 910 0000 to 0999 (Ireland),
// 01632 960 000 to 960 999 (Ofcom), 555 0100 to 0199 (North American Numbering Plan). The German and the Italian one are
// made up.
#[test]
fn a_number_has_one_form_however_it_is_typed() {
    for written in [
        "+49 (0)171-555.0213",
        "0171 5550213",
        "0049 171 5550213",
        "0171/555 0213 (mobil)",
        "+49171\u{a0}5550213",
        "Tel. 0171 5550213 ext. 4",
    ] {
        assert_eq!(read(written, "DE").as_deref(), Some("+491715550213"), "{written}");
    }
    for (written, country, expected) in [
        ("020 910 0123", "IE", "+353209100123"),
        ("+353 (0)20 910 0123 ext 4", "DE", "+353209100123"),
        ("01632 960123", "GB", "+441632960123"),
        ("(202) 555-0143", "US", "+12025550143"),
        ("1 202 555 0143", "US", "+12025550143"),
        ("+1 202 555 0143", "IE", "+12025550143"),
        // Rome keeps its zero abroad, whatever the shop's own country does.
        ("+39 06 5550 1234", "DE", "+390655501234"),
        ("06 5550 1234", "IT", "+390655501234"),
    ] {
        assert_eq!(read(written, country).as_deref(), Some(expected), "{written} in {country}");
    }
}

#[test]
fn the_national_form_has_what_is_dialled_at_home() {
    let national = |written| parse(written, None).unwrap().national;
    assert_eq!(national("+49 171 5550213"), "01715550213");
    assert_eq!(national("+39 06 5550 1234"), "0655501234");
    assert_eq!(national("+353 20 910 0123"), "0209100123");
}

#[test]
fn what_has_no_international_form_is_compared_by_its_digits() {
    for (written, country) in [("112", "DE"), ("", "DE"), ("+999 12345678", "DE"), ("call me", "DE"), ("00", "DE")] {
        assert_eq!(read(written, country), None, "{written}");
    }
    assert_eq!(parse("0171 5550213", None), None, "nobody knows of which country it is");
    assert_eq!(key("0171 5550213", None), "1715550213");
}

/// Digits that are the same in every run.
fn dice() -> impl FnMut(u64) -> u64 {
    let mut seed = 1_u64;
    move |below| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) % below
    }
}

#[test]
fn a_parsed_number_is_parsed_to_itself_whatever_was_typed_in_any_country() {
    let mut dice = dice();
    for country in Country::all() {
        for _ in 0..40 {
            let digits: String = (0..=dice(17)).map(|_| char::from(b'0' + u8::try_from(dice(10)).unwrap())).collect();
            let typed = if dice(3) == 0 { format!("+{digits}") } else { digits };
            let Some(number) = parse(&typed, Some(country)) else { continue };
            let again = parse(&number.international, Some(country)).map(|number| number.international);
            assert_eq!(again.as_ref(), Some(&number.international), "{typed} in {country}");
        }
    }
}

fn found(person: &Person, typed: &str) -> Vec<String> {
    let typed: String = url::form_urlencoded::byte_serialize(typed.as_bytes()).collect();
    let answer = person.get(&format!("/v1/search?q={typed}")).expect(200);
    answer["items"].as_array().unwrap().iter().map(|hit| hit["title"].as_str().unwrap().to_owned()).collect()
}

/// Puts the shop into a country.
fn move_to(person: &Person, country: &str) {
    let address = json!({ "street": "4 Harbour Row", "postcode": null, "city": "Harbour", "country": country });
    person.change_shop(&json!({ "address": address }));
}

fn with_phone(name: &str, phone: &str) -> Value {
    with(customer::body(name), json!({ "phones": [phone], "emails": [] }))
}

#[test]
fn a_customer_is_found_by_their_number_however_it_was_typed_and_is_searched() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        move_to(&owner, "DE");
        let typed = "+49\u{a0}(0)171-555.0213 (mobil)";
        let made = owner.post("/v1/customers", &with_phone("Jürgen Groß", typed)).expect(201);
        assert_eq!(made["phones"], json!([typed]), "what was typed is kept");
        owner.post("/v1/customers", &with_phone("Aoife Byrne", "020 910 0000")).expect(201);
        for typed in [
            "+49 171 5550213",
            "+49 (0)171 555 02",
            "0049171555",
            "0171",
            "01715550213",
            "0171/5550213 (mobil)",
            "171555",
            "0213",
            "555 0213",
            "gross",
            "GROẞ",
            "jurgen",
        ] {
            assert_eq!(found(&owner, typed), ["Jürgen Groß"], "{typed}");
        }
        assert!(found(&owner, "0172").is_empty() && found(&owner, "mobil").is_empty());
    });
}

#[test]
fn numbers_with_remarks_extensions_and_odd_blanks_are_taken() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        for typed in [
            "+353 20 910 0000 (mobil)",
            "+353 20 910 0000 ext. 12",
            "+353 20 910 0000 x12",
            "Tel. +353\u{202f}20\u{a0}910 0000",
            "(020) 910-0000 / evenings",
        ] {
            let one = with(with_phone("Somebody", typed), json!({ "consents": [] }));
            let made = owner.post("/v1/customers?confirm=known-customer", &one).expect(201);
            assert_eq!(made["phones"], json!([typed]));
        }
        for typed in ["", "call me", "12", "1\n2345", "123456789012345678901", &"1 ".repeat(31)] {
            owner.post("/v1/customers", &with_phone("Somebody", typed)).problem(400, "invalid-body");
        }
    });
}

#[test]
fn numbers_that_were_kept_before_are_parsed_by_the_clock_and_anew_when_the_country_changes() {
    on_each_engine(|studio| {
        let owner = studio.owner();
        let made = owner.post("/v1/customers", &with_phone("Jürgen Groß", "0171 5550213")).expect(201);
        let keys = || {
            let row = studio.every_row().into_iter().find(|(table, _)| table == "customer").unwrap().1;
            serde_json::from_str::<Value>(&row).unwrap()["phone_keys"].clone()
        };
        assert_eq!(keys(), r#"["1715550213"]"#, "of no country");
        // As rows are after an update of the program.
        studio.in_shop(studio.shop(), |tx| {
            for query in [
                "UPDATE customer SET phone_keys = '[]'",
                "UPDATE search_subject SET rules = ''",
                "DELETE FROM search_word",
            ] {
                diesel::sql_query(query).execute(tx.conn).map_err(DbError::from)?;
            }
            Ok(())
        });
        assert!(found(&owner, "gross").is_empty());
        move_to(&owner, "DE");
        studio.tick();
        assert_eq!(
            (found(&owner, "gross"), found(&owner, "+49171")),
            (vec!["Jürgen Groß".to_owned()], vec!["Jürgen Groß".to_owned()])
        );
        assert_eq!(keys(), r#"["+491715550213"]"#);
        move_to(&owner, "IE");
        studio.pass_minutes(1);
        studio.tick();
        assert_eq!(keys(), r#"["+3531715550213"]"#);
        let after = owner.get(&format!("/v1/customers/{}", made["id"].as_str().unwrap())).expect(200);
        assert_eq!(after, made, "nothing that people read has changed");
    });
}
