//! Each text of the API document stands alone: no summary and no description is a fragment.

use serde_json::{Value, json};

use crate::sources::{none, top};

/// Words that ask. A text that starts with one ("Whose.", "Where it is.", "Until when.") answers a question that its
/// reader has not read: generated clients and editors show it alone, beside the name of one field. The noun or the verb
/// that is meant comes first instead: "Id of the person who is absent."
pub const QUESTION_WORDS: &[&str] =
    &["who", "whom", "whose", "what", "which", "when", "where", "why", "how", "until", "since", "of", "from", "to"];

/// Other first words of fragments: pronouns, which stand for a noun that nobody has read yet, and prepositions, which lack
/// the noun before them ("By how much …", "At least so long.", "With tax.").
const NO_BEGINNINGS: &str = "i it its he his she her they their theirs them we our you your this that these those there \
    someone somebody something anybody by at for up so such with without";

/// Fewer words say too little for a text that stands alone.
const FEWEST_WORDS: usize = 3;

/// Keys whose values are examples of data, not texts about it.
const DATA: [&str; 5] = ["example", "examples", "default", "enum", "const"];

/// The words of a text in lower case, without what surrounds them; "it's" counts as "it".
pub fn words(text: &str) -> Vec<String> {
    let word = |word: &str| {
        let letters = word.split(|c: char| !c.is_alphanumeric()).find(|part| !part.is_empty());
        letters.map(str::to_lowercase)
    };
    text.split_whitespace().filter_map(word).collect()
}

/// Why a text can't stand alone.
fn fault(key: &str, text: &str) -> Option<&'static str> {
    let words = words(text);
    let word = |at: usize| words.get(at).map(String::as_str).unwrap_or_default();
    if words.len() < FEWEST_WORDS {
        return Some("has fewer than three words");
    }
    if QUESTION_WORDS.contains(&word(0)) || NO_BEGINNINGS.split(' ').any(|first| first == word(0)) {
        return Some("starts with neither a noun nor a verb");
    }
    if (word(0), word(1)) == ("the", "same") {
        return Some("refers to another text");
    }
    (key == "summary" && ["the", "a", "an"].contains(&word(0))).then_some("starts with no verb")
}

/// Every summary and description under `value`: pointer, key and text. A field that is itself called `summary` is an
/// object there, so it is no text.
fn texts<'a>(value: &'a Value, pointer: &str, found: &mut Vec<(String, &'a str, &'a str)>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                let place = format!("{pointer}/{}", key.replace('~', "~0").replace('/', "~1"));
                match inner {
                    Value::String(text) if ["summary", "description"].contains(&key.as_str()) => {
                        found.push((place, key.as_str(), text.as_str()));
                    }
                    _ if DATA.contains(&key.as_str()) && !pointer.ends_with("/properties") => {}
                    _ => texts(inner, &place, found),
                }
            }
        }
        Value::Array(list) => {
            for (at, inner) in list.iter().enumerate() {
                texts(inner, &format!("{pointer}/{at}"), found);
            }
        }
        _ => {}
    }
}

fn faults(document: &Value) -> Vec<String> {
    let mut all = Vec::new();
    texts(document, "", &mut all);
    let bad = all.iter().filter_map(|(pointer, key, text)| Some((pointer, text, fault(key, text)?)));
    bad.map(|(pointer, text, fault)| format!("{pointer} {fault}: {text}")).collect()
}

#[test]
fn every_text_of_the_api_document_stands_alone() {
    let text = std::fs::read_to_string(top().join("openapi/openapi.json")).unwrap();
    let document: Value = serde_json::from_str(&text).unwrap();
    let mut all = Vec::new();
    texts(&document, "", &mut all);
    assert!(all.len() > 2000, "the texts are found: {}", all.len());
    none(faults(&document), "a text starts with a noun or a verb and says what it is, its unit, and when it is null");
}

#[test]
fn a_fragment_is_refused() {
    let document = json!({
        "paths": { "/v1/absences": { "get": {
            "summary": "The absences.",
            "description": "Lists the absences of a person.",
            "responses": { "200": { "description": "One page." } }
        } } },
        "schemas": { "Absence": {
            "description": "Absence of a person.",
            "example": { "description": "Ill." },
            "properties": {
                "person_id": { "description": "Whose." },
                "until": { "description": "Until when it\nlasts, at most." },
                "of_two": { "description": "The same for two people." },
                "its": { "description": "It's the id of the record." },
                "summary": { "description": "`null` if nobody wrote one." },
                "example": { "description": "By how much it is late." }
            }
        } }
    });
    let found = faults(&document);
    for pointer in [
        "/paths/~1v1~1absences/get/summary ",
        "/paths/~1v1~1absences/get/responses/200/description ",
        "/schemas/Absence/properties/person_id/description ",
        "/schemas/Absence/properties/until/description ",
        "/schemas/Absence/properties/of_two/description ",
        "/schemas/Absence/properties/its/description ",
        "/schemas/Absence/properties/example/description ",
    ] {
        assert!(found.iter().any(|fault| fault.starts_with(pointer)), "{pointer}is not among {found:?}");
    }
    assert_eq!(found.len(), 7, "{found:?}");
    assert!(found.iter().any(|fault| fault.ends_with(": Whose.")), "the text is named: {found:?}");
}

#[test]
fn a_summary_starts_with_a_verb_and_a_description_may_start_with_an_article() {
    assert!(fault("summary", "The absences of a person.").is_some());
    assert!(fault("description", "The absences of a person.").is_none());
    assert!(fault("summary", "List the absences of a person.").is_none());
}
