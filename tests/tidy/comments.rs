//! Comments are plain English: turns of phrase that a new reader has to read twice are refused.

use crate::descriptions::{QUESTION_WORDS, words};
use crate::sources::{Source, none, shipped};

/// Turns of phrase, in lower case, and what to write instead. Each is rare enough in good text to be refused everywhere.
const TURNS: &[(&str, &str)] = &[
    ("none such", "name what is missing"),
    ("holds no more", "has expired"),
    ("hold no more", "have expired"),
    ("held no more", "expired"),
    ("counts no more", "no longer counts"),
    ("count no more", "no longer count"),
    ("what is left of it as", "name what remains"),
    ("so many of", "name the share or the number"),
    ("so many days", "name the number: `days` days"),
    ("so many times", "name the number: `times` times"),
    ("for so many", "name the number"),
    ("in so many", "name the number"),
    ("such a part of", "name the share"),
    ("where not said", "if left out"),
    ("where it isn't said", "if left out"),
    ("whom it was for", "the customer's data"),
    ("whom it was offered", "the customer's data"),
    ("what nobody signed", "unsigned"),
    ("told this once", "shown once"),
    ("answers what", "returns"),
    ("before all was seen", "before the search was complete"),
    ("the purse", "the node budget"),
    ("on no account", "never"),
    ("as it travels", "as it is sent over HTTP"),
    ("told once", "shown only once"),
    ("pair of hands", "one person"),
    ("pairs of hands", "the number of people"),
    ("holds on a customer", "holds about a customer"),
    ("none of ours", "say what it is not"),
    ("none that this program wrote", "not written by this program"),
    ("once more changes nothing", "doing it again changes nothing"),
    ("goes on in its place", "replaces it"),
    ("stands above", "is above"),
    ("takes paint away", "removes paint"),
    ("waits beside its bay", "is waiting for its bay"),
    ("outlive a power cut", "survive a power cut"),
    ("says no where", "refuses the request if"),
];

/// Whole comments that name nothing, beside those of one or two words that start with a question word.
const FRAGMENTS: [&str; 5] =
    ["whose it is.", "where it is.", "where it stands.", "until when it holds.", "at least so long."];

/// The comments of a file, each with its first line's number; lines that follow each other are one.
fn comments(source: &Source) -> Vec<(usize, String)> {
    let mut found: Vec<(usize, String)> = Vec::new();
    let mut next = 0;
    for (at, line) in source.text.lines().enumerate() {
        let Some(said) = line.trim_start().strip_prefix("//") else { continue };
        let said = said.trim_start_matches(['/', '!']).trim();
        match found.last_mut() {
            Some((_, text)) if next == at => {
                text.push(' ');
                text.push_str(said);
            }
            _ => found.push((at + 1, said.to_owned())),
        }
        next = at + 1;
    }
    found
}

fn faults(source: &Source) -> Vec<String> {
    let mut faults = Vec::new();
    for (line, text) in comments(source) {
        let lower = text.to_lowercase();
        for (turn, instead) in TURNS.iter().filter(|(turn, _)| lower.contains(turn)) {
            faults.push(format!("{}:{line} says \"{turn}\": {instead}", source.path));
        }
        let words = words(&text);
        let asks = words.first().is_some_and(|word| QUESTION_WORDS.contains(&word.as_str()));
        if FRAGMENTS.contains(&lower.as_str()) || (words.len() < 3 && asks) {
            faults.push(format!("{}:{line} names nothing: {text}", source.path));
        }
    }
    faults
}

#[test]
fn comments_are_plain_english() {
    none(shipped().iter().flat_map(faults).collect(), "a comment says what it means at first reading");
}

/// Lines that begin code in a comment which rustdoc would run, or an unnamed language.
fn runnable(source: &Source) -> Vec<String> {
    let mut inside = false;
    let mut faults = Vec::new();
    for (at, line) in source.text.lines().enumerate() {
        let line = line.trim_start();
        let Some(said) = line.strip_prefix("///").or_else(|| line.strip_prefix("//!")) else {
            inside = false;
            continue;
        };
        if let Some(language) = said.trim().strip_prefix("```") {
            if !inside && language != "text" {
                faults.push(format!("{}:{} begins with ```{language}", source.path, at + 1));
            }
            inside = !inside;
        }
    }
    faults
}

#[test]
fn code_in_a_comment_is_text_since_nothing_runs_it() {
    none(shipped().iter().flat_map(runnable).collect(), "write ```text, and put code that is to run into a test");
    let source = |text: &str| Source { path: "domain/src/menu.rs".to_owned(), text: text.to_owned() };
    assert!(runnable(&source("/// ```text\n/// a\n/// ```\n")).is_empty());
    for language in ["", "rust", "no_run"] {
        let text = format!("use a;\n//! ```{language}\n//! a();\n//! ```\n");
        assert_eq!(runnable(&source(&text)), [format!("domain/src/menu.rs:2 begins with ```{language}")]);
    }
}

#[test]
fn a_turn_of_phrase_and_a_fragment_are_refused_across_lines_too() {
    let bad = [
        "/// From when the quote holds no more.\n",
        "/// Deletes links that hold no\n/// more, the oldest first.\n",
        "//! Minutes that so many of a hundred jobs need.\n",
        "    // None such is here.\n",
        "    /// Whose.\n    id: Reference,\n",
        "/// Of what.\n",
        "/// Where it stands.\n",
    ];
    for text in bad {
        let source = Source { path: "api/core/src/bad.rs".to_owned(), text: text.to_owned() };
        assert_eq!(faults(&source).len(), 1, "{text}");
    }
    let good = [
        "/// Time when the quote expires.\n",
        "/// Lists bookings that hold\n\n/// no more than one bay.\n",
        "let holds_no_more = \"holds no more\";\n",
        "/// Id of the person who is absent.\n",
    ];
    for text in good {
        let source = Source { path: "api/core/src/good.rs".to_owned(), text: text.to_owned() };
        assert!(faults(&source).is_empty(), "{:?}", faults(&source));
    }
}

#[test]
fn a_fault_names_the_file_the_line_and_what_to_write() {
    let text = "use a::B;\n\n/// Days after which it is sent;\n/// 3 where not said.\n";
    let source = Source { path: "domain/src/reminder.rs".to_owned(), text: text.to_owned() };
    assert_eq!(faults(&source), ["domain/src/reminder.rs:3 says \"where not said\": if left out"]);
}
