//! What people can read: the rules of `baywright_domain::legible` against the Unicode Character Database, as the crate
//! `regex-syntax` carries it (General_Category, Bidi_Control, Default_Ignorable_Code_Point), asked through the validator
//! `jsonschema`, and the patterns of the API document against what the program reads.

use baywright_domain::legible::{is_bidi_control, is_blank, is_format};
use baywright_http::platform::wire::{Line, Text};
use jsonschema::Validator;
use serde_json::{Value, json};

fn pattern(pattern: &str) -> Validator {
    jsonschema::validator_for(&json!({ "type": "string", "pattern": pattern })).unwrap()
}

fn differing(found: &Validator, ours: impl Fn(char) -> bool) -> Vec<String> {
    let all = (0..=0x10_ffff).filter_map(char::from_u32);
    let differs = |c: &char| found.is_valid(&json!(c.to_string())) != ours(*c);
    all.filter(differs).map(|c| format!("U+{:04X}", u32::from(c))).collect()
}

#[test]
fn format_characters_and_marks_of_direction_are_those_of_the_character_database() {
    assert_eq!(differing(&pattern(r"^\p{Cf}$"), is_format), Vec::<String>::new());
    assert_eq!(differing(&pattern(r"^\p{Bidi_Control}$"), is_bidi_control), Vec::<String>::new());
    // Ours has the empty braille cell beside those that the database says may be ignored.
    let shows_nothing = |c: char| is_blank(c) && c != '\u{2800}' || is_format(c);
    let ignorable = pattern(r"^[\p{Default_Ignorable_Code_Point}\p{Cf}]$");
    assert_eq!(differing(&ignorable, shows_nothing), Vec::<String>::new());
}

#[test]
fn the_patterns_of_the_api_document_say_what_is_read_within_the_basic_plane() {
    let document: Value = serde_json::from_str(include_str!("../../openapi/openapi.json")).unwrap();
    let of = |schema: &str, field: &str| {
        let field = &document["components"]["schemas"][schema]["properties"][field];
        pattern(field["pattern"].as_str().unwrap())
    };
    let (line, text) = (of("CustomerBody", "name"), of("VariationDraft", "reason"));
    let mut differing = Vec::new();
    for c in (0..=0xffff).filter_map(char::from_u32) {
        for sample in [c.to_string(), format!("a{c}b")] {
            let read = (Line::<200>::parse(&sample).is_ok(), Text::<4000>::parse(&sample).is_ok());
            let said = (line.is_valid(&json!(sample)), text.is_valid(&json!(sample)));
            if read != said {
                differing.push(format!("U+{:04X}: read {read:?}, said {said:?}", u32::from(c)));
            }
        }
    }
    assert_eq!(differing, Vec::<String>::new());
}
