//! Check digits of vehicle identification numbers (49 CFR 565.15, tables III to V).
//!
//! Source: `data/vin/SOURCE.md`. Nothing is left out.

use baywright_domain::vehicle::{BadVin, Market, Vin, check_digit};
use serde_json::Value;

fn published() -> Value {
    serde_json::from_str(include_str!("../data/vin/vin.json")).unwrap()
}

fn text<'a>(row: &'a Value, name: &str) -> &'a str {
    row[name].as_str().unwrap()
}

#[test]
fn published_numbers_have_their_check_digits() {
    let data = published();
    let rows = data["valid"].as_array().unwrap();
    assert!(rows.len() >= 4);
    for row in rows {
        let vin = text(row, "vin");
        assert_eq!(check_digit(vin).unwrap().to_string(), text(row, "check"), "{vin}");
        let lower = vin.to_lowercase();
        assert_eq!(Vin::parse(&lower, Market::NorthAmerica).unwrap().0.as_str(), vin);
    }
}

#[test]
fn wrong_numbers_are_refused_for_the_published_reason() {
    let data = published();
    let rows = data["invalid"].as_array().unwrap();
    assert!(rows.len() >= 6);
    for row in rows {
        let (vin, why) = (text(row, "vin"), text(row, "why"));
        let refusal = Vin::parse(vin, Market::NorthAmerica).unwrap_err();
        let agrees = match refusal {
            BadVin::CheckDigit { .. } => why == "check digit",
            BadVin::Length(count) => why == format!("{count} characters"),
            BadVin::Character(character) => why == format!("letter {character}"),
        };
        assert!(agrees, "{vin}: {refusal}, published: {why}");
        // Outside North America a wrong check digit is a warning, and the rest is refused as well.
        let elsewhere = Vin::parse(vin, Market::Elsewhere);
        assert_eq!(elsewhere.is_ok_and(|(_, warning)| warning.is_some()), why == "check digit", "{vin}");
    }
}

/// Every character at every position, summed up with the published tables.
#[test]
fn the_published_tables_give_the_same_digit_for_every_character_at_every_position() {
    let data = published();
    let values = data["transliteration"].as_object().unwrap();
    let weights: Vec<u64> = data["weights"].as_array().unwrap().iter().map(|weight| weight.as_u64().unwrap()).collect();
    assert_eq!((values.len(), weights.len()), (33, 17));
    for (character, value) in values {
        for at in 0..17 {
            let vin: String = (0..17).map(|place| if place == at { character.as_str() } else { "1" }).collect();
            let ones: u64 = weights.iter().sum::<u64>() - weights[at];
            let expected = match (ones + weights[at] * value.as_u64().unwrap()) % 11 {
                10 => 'X',
                digit => char::from_digit(u32::try_from(digit).unwrap(), 10).unwrap(),
            };
            assert_eq!(check_digit(&vin), Ok(expected), "{vin}");
        }
    }
    for other in ('\0'..='\u{ff}').filter(|character| !values.contains_key(&character.to_string())) {
        let vin: String = core::iter::once(other).chain("1111111111111111".chars()).collect();
        assert_eq!(check_digit(&vin), Err(BadVin::Character(other)));
    }
}
